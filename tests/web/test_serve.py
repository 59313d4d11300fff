"""`kb serve` as a process: it says where it is, answers there, and stops when told."""

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request

import pytest


def start(base_path, *arguments):
    environment = {**os.environ, "KB_DATABASE": str(base_path), "PYTHONUNBUFFERED": "1"}
    return subprocess.Popen(
        [sys.executable, "-m", "kb", "serve", *arguments],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_it_prints_its_address_answers_and_stops(base_path):
    with start(base_path) as process:
        address = process.stdout.readline().strip()
        try:
            assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address)
            with urllib.request.urlopen(address, timeout=10) as answer:
                assert answer.status == 200
                assert b"Like <span>for</span> Like" in answer.read()
                assert "server" not in answer.headers
            foreign = urllib.request.Request(address, headers={"Host": "evil.example"})
            with pytest.raises(urllib.error.HTTPError) as refused:
                urllib.request.urlopen(foreign, timeout=10)
            assert refused.value.code == 421
            refused.value.close()
            long = urllib.request.Request(address + "bench?s=" + "a" * 20_000)
            with pytest.raises(urllib.error.HTTPError) as told:
                urllib.request.urlopen(long, timeout=10)
            assert told.value.code == 400
            told.value.close()
        finally:
            process.send_signal(signal.SIGINT)
        said, errors = process.communicate(timeout=15)
        assert process.returncode in {0, 130}
        assert "Traceback" not in errors
        assert said == ""


def test_a_taken_port_is_told(base_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with start(base_path, "--port", str(port)) as process:
            said, errors = process.communicate(timeout=30)
    assert process.returncode == 2
    assert said == "" and f"Port {port}" in errors and "Leave --port out" in errors


def test_it_listens_on_this_machine_alone(base_path):
    from kb.web.app import free_socket

    with free_socket() as listener:
        assert listener.getsockname()[0] == "127.0.0.1"


def test_the_plugin_leaves_other_databases_alone(tmp_path):
    import asyncio

    from datasette.app import Datasette
    from datasette.plugins import pm

    from kb.web import plugin

    if not pm.is_registered(plugin):
        pm.register(plugin, name=plugin.NAME)
    other = Datasette([], memory=True)
    answer = asyncio.run(other.client.get("/"))
    assert "Like for Like" not in answer.text
    assert asyncio.run(other.client.get("/bench")).status_code == 404


def test_a_plain_datasette_shows_the_pages_when_its_settings_name_the_file(base_path):
    import asyncio

    from datasette.app import Datasette

    from kb.web import plugin

    settings = {"plugins": {plugin.NAME: {"file": str(base_path)}}}
    other = Datasette([], memory=True, metadata=settings)
    answer = asyncio.run(other.client.get("/roles/wax"))
    assert answer.status_code == 200 and "balm wax" in answer.text
    plugin.crew_of(other).close()


def test_the_release_of_datasette_that_is_asked_for_is_the_one_tested():
    from importlib.metadata import requires, version

    import datasette

    wanted = next(r for r in requires("like-for-like") if r.startswith("datasette"))
    assert "<1" in wanted and ">=0.65" in wanted
    if version("datasette") == datasette.__version__:  # else a pre-release is tried on purpose
        assert datasette.__version__.startswith("0.65.")
