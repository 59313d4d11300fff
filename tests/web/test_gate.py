"""Headers, hosts, sizes, cookies: what stands before every page."""

import re

import pytest

from kb.web.fields import MAX_BODY
from kb.web.gate import HEADERS, OURS
from kb.web.pages import ROUTES
from tests.web.reading import Page

FORM = {"content-type": "application/x-www-form-urlencoded"}
PATHS = [
    "/",
    "/.json",
    "/find?q=wax",
    "/find.json?q=wax",
    "/help",
    "/material/cera-alba",
    "/material/cera-alba.json",
    "/material/beeswax",
    "/material/nothing-of-the-kind",
    "/roles",
    "/roles/wax",
    "/roles/nothing",
    "/suits",
    "/suits?name=carbomer&system=w%2Fo",
    "/bench",
    "/bench?demo=deck-balm",
    "/bench?s=broken",
    "/bench/replace",
    "/bench/nowhere",
    "/nothing-here",
]


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_of_ours_has_every_header(web, path):
    answer = web.get(path)
    for name, value in HEADERS.items():
        assert answer.headers.get_list(name) == [value], name
    assert "x-like-for-like" not in answer.headers


def test_the_policy_lets_nothing_in_from_elsewhere():
    rules = dict(
        part.strip().split(" ", 1) for part in HEADERS["content-security-policy"].split(";")
    )
    assert rules["default-src"] == rules["base-uri"] == rules["frame-ancestors"] == "'none'"
    for name in ("style-src", "script-src", "connect-src", "form-action"):
        assert rules[name] == "'self'"
    assert rules["img-src"] == "'self' data:"


def test_assets_have_the_headers_too_and_never_change(web):
    page = Page(web.get("/").text)
    links = [a["href"] for a in page.all("link")] + [a["src"] for a in page.all("script")]
    assert len(links) == 3
    for link in links:
        assert re.fullmatch(r"/-/like/\w+\.[0-9a-f]{12}\.\w+", link)
        answer = web.get(link)
        assert answer.status_code == 200
        assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"
        assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8001",
        "localhost.evil.example",
        "127.0.0.1.evil.example",
        "evil.example/127.0.0.1",
        "",
        "127.0.0.1:80:80",
        "[::2]",
    ],
)
@pytest.mark.parametrize("path", ["/", "/bench.json?demo=deck-balm", "/graph", "/graph/material"])
def test_a_foreign_host_is_refused_everywhere(web, host, path):
    answer = web.get(path, headers={"host": host})
    assert answer.status_code == 421
    assert "kb serve" in answer.text
    assert answer.headers["content-security-policy"] == HEADERS["content-security-policy"]


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST", "127.0.0.1:49152", "[::1]:8001"])
def test_this_machine_is_let_in(web, host):
    assert web.get("/", headers={"host": host}).status_code == 200


def test_a_large_body_is_refused_with_words(web):
    answer = web.post("/bench", content=b"formula=" + b"a" * MAX_BODY, headers=FORM)
    assert answer.status_code == 413
    assert "256 KB" in Page(answer.text).text
    assert web.get("/").status_code == 200


def test_a_large_body_of_unknown_length_is_refused(web):
    async def drip():
        for _ in range(80):
            yield b"a" * 4096

    answer = web.post("/bench", content=drip(), headers=FORM)
    assert answer.status_code == 413


def test_a_body_of_just_the_limit_is_read(web):
    body = b"formula=" + b"a" * (MAX_BODY - 8)
    assert web.post("/bench", content=body, headers=FORM).status_code == 400


def test_the_tables_behind_take_no_large_body_either(web):
    answer = web.post("/graph", content=b"a" * (MAX_BODY + 1), headers=FORM)
    assert answer.status_code == 413


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/json", "multipart/form-data", "", "application/zip"]
)
def test_a_body_that_is_no_form_is_refused(web, kind):
    answer = web.post("/bench", content=b"{}", headers={"content-type": kind})
    assert answer.status_code == 400
    assert "no form" in Page(answer.text).text


def test_a_damaged_form_is_refused(web):
    kind = "multipart/form-data; boundary=x"
    for body in (b"", b"--x", b"--x\r\n\r\n\xff\xfe", b"--y\r\n", b"--x\r\nnonsense\r\n--x--"):
        answer = web.post("/bench", content=body, headers={"content-type": kind})
        assert answer.status_code in {200, 400}
        assert not Page(answer.text).faults


def test_a_body_that_is_not_utf8_is_refused_or_read(web):
    answer = web.post("/bench", content=b"formula=\xff\xfe%ff", headers=FORM)
    assert answer.status_code == 400


def test_a_form_sent_from_elsewhere_is_refused(web, demo_text):
    """By a token in the form with Datasette 0.65, by headers of the browser after it."""
    page = web.get("/bench")
    good = {"formula": demo_text}
    if "set-cookie" in page.headers:
        token = Page(page.text).all("input", name="csrftoken")[0]["value"]
        assert page.headers["set-cookie"].startswith(f"ds_csrftoken={token};")
        more = {"cookies": {"ds_csrftoken": token}}
        sent = web.post("/bench", data={**good, "csrftoken": token}, **more)
    else:
        more = {"headers": {"origin": "https://evil.example", "sec-fetch-site": "cross-site"}}
        sent = web.post("/bench", data=good, headers={"sec-fetch-site": "same-origin"})
    assert sent.status_code == 303
    bad = web.post("/bench", data={**good, "csrftoken": "nonsense"}, **more)
    assert bad.status_code == 403
    said = Page(bad.text).text
    assert "Open the bench again" in said or "sent by another page" in said
    assert bad.headers["x-content-type-options"] == "nosniff"


def test_a_file_sent_with_cookie_and_token_arrives(web):
    page = web.get("/bench")
    cookies, fields = {}, [("formula", (None, ""))]
    if "set-cookie" in page.headers:
        token = Page(page.text).all("input", name="csrftoken")[0]["value"]
        cookies = {"ds_csrftoken": token}
        fields.insert(0, ("csrftoken", (None, token)))
    content = "Name;Prozent\nOliven\u00f6l;ad 100\nBienenwachs;15\n".encode("cp1252")
    files = [*fields, ("file", ("balm.csv", content))]
    answer = web.post("/bench", files=files, cookies=cookies)
    assert answer.status_code == 303
    tree = web.get(answer.headers["location"].replace("/bench", "/bench.json")).json()
    assert [line["ingredient"] for line in tree["lines"]] == [
        "olea-europaea-fruit-oil",
        "cera-alba",
    ]


def test_damaged_forms_with_a_cookie_are_told(web):
    for body in (b"formula=\xff\xfe%ff", b"file-content=!!", b"&&&===", b"\xff" * 500):
        answer = web.post("/bench", content=body, headers=FORM, cookies={"ds_csrftoken": "x"})
        assert answer.status_code in {200, 400, 403}
        assert not Page(answer.text).faults


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "cross-site", "origin": "http://localhost"},
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost.evil.example"},
    ],
)
@pytest.mark.parametrize("path", ["/own/undo", "/own/shelf", "/bench/keep", "/bench"])
def test_another_site_cannot_send_a_form_with_or_without_our_cookie(web, path, headers):
    answer = web.post(path, data={"s": web.start(), "ph": "5", "list": "name\nx"}, headers=headers)
    assert answer.status_code == 403
    assert "another page" in Page(answer.text).text
    assert not any(web.get("/own.json").json()["counts"].values())


@pytest.mark.parametrize("path", [p for p in PATHS if p != "/bench"])
def test_no_other_page_sets_a_cookie(web, path):
    assert "set-cookie" not in web.get(path).headers


def test_a_formula_on_the_bench_needs_no_cookie(web):
    assert "set-cookie" not in web.get(f"/bench?s={web.start()}").headers


def test_every_route_is_known_to_the_gate():
    for route in ROUTES:
        plain = route.path.replace(r"(?P<json>\.json)?", "").replace("(?P<name>[^/]+?)", "wax")
        path = plain.removeprefix("^").removesuffix("$")
        path = path.replace("(?P<deed>add|shelf|remove|undo)", "add")
        assert re.fullmatch(r"[a-z/]+", path), path
        assert OURS.match(path), path
        twin = "/.json" if path == "/" else f"{path}.json"
        assert OURS.match(twin), twin
    for path in ("/graph", "/graph/material", "/-/versions", "/findings", "/benches"):
        assert not OURS.match(path), path


def test_a_fault_of_the_program_shows_nothing_of_the_inside(web, monkeypatch):
    from kb.web import roles

    def broken(base):
        raise RuntimeError("secret of the inside")

    monkeypatch.setattr(roles, "roles_tree", broken)
    for path in ("/roles", "/roles.json"):
        answer = web.get(path)
        assert answer.status_code == 500
        assert "secret" not in answer.text and "Traceback" not in answer.text
        assert answer.headers["content-security-policy"] == HEADERS["content-security-policy"]
    monkeypatch.undo()
    assert web.get("/roles").status_code == 200
