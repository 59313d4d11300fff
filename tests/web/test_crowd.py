"""Twenty readers at once on the loopback of this machine, each with a connection of its own."""

import asyncio
import os
import subprocess
import sys
import time

import httpx
import pytest

#: Seconds of the crowd; the full minute when asked for: KB_CROWD_SECONDS=60.
FULL = "KB_CROWD_SECONDS" in os.environ
CROWD_S = float(os.environ.get("KB_CROWD_SECONDS", "3"))
READERS = 20
#: A reader looks at a page before asking for the next, s.
LOOKS_S = 0.2
#: 95 of 100 pages come within this, s; in the short run the twenty start all at once, and other
#: tests use the machine.
LATE_S = 0.2 if FULL else 3.0


@pytest.fixture(scope="module")
def address(base_path, tmp_path_factory):
    folder = tmp_path_factory.mktemp("crowd")
    world = {"KB_DATABASE": str(base_path), "KB_OWN": str(folder / "own.sqlite")}
    with (folder / "errors.txt").open("w") as errors:
        process = subprocess.Popen(
            [sys.executable, "-m", "kb", "serve"],
            env={**os.environ, **world, "PYTHONUNBUFFERED": "1"},
            stdout=subprocess.PIPE,
            stderr=errors,
            text=True,
        )
    with process:
        yield process.stdout.readline().strip()
        assert process.poll() is None
        process.terminate()
        process.stdout.read()
    assert "Traceback" not in (folder / "errors.txt").read_text()


def test_twenty_readers_at_once_meet_no_error(address):
    first = httpx.get(f"{address}bench?demo=oyster-barrier", timeout=60)
    s = first.headers["location"].partition("?s=")[2]
    paths = [
        "",
        "find?q=wax",
        "find.json?q=beesswax",
        "material/cera-alba",
        "roles",
        "roles/light-ester?sort=viscosity",
        "suits?name=carbomer&system=w%2Fo",
        "own",
        f"bench?s={s}",
        f"bench.json?s={s}",
        f"bench/replace?s={s}&at=6",
        f"bench/sheet?s={s}",
    ]
    took, wrong = [], []

    async def reader(number, end):
        turn = number
        async with httpx.AsyncClient(timeout=60, verify=False) as client:
            while time.perf_counter() < end:
                path = paths[turn % len(paths)]
                start = time.perf_counter()
                answer = await client.get(address + path)
                took.append(time.perf_counter() - start)
                if answer.status_code != 200:
                    wrong.append((path, answer.status_code))
                turn += 1
                await asyncio.sleep(LOOKS_S)

    async def crowd():
        for path in paths * 2:  # both processes of the bench have seen each page
            async with httpx.AsyncClient(timeout=60, verify=False) as client:
                await client.get(address + path)
        end = time.perf_counter() + CROWD_S
        await asyncio.gather(*(reader(n, end) for n in range(READERS)))

    asyncio.run(crowd())
    took.sort()
    late = took[int(0.95 * len(took))]
    print(f"{len(took)} pages in {CROWD_S:g} s, p95 {1000 * late:.0f} ms, errors {len(wrong)}")
    assert not wrong
    assert len(took) > READERS
    assert late < LATE_S, f"p95 {1000 * late:.0f} ms over {len(took)} pages"
