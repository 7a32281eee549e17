"""The page's answers: headers, Host, errors, and what stands on it."""

import re
import socket
from html.parser import HTMLParser
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from lugbook import actions
from lugbook.errors import InputError
from lugbook.web import app as web_app
from lugbook.web.app import serve, serving

DATA_PAGES = ("/", "/?setting=32", "/?edition=2020", "/openapi.json")
OWN_FILES = (
    "/static/lugbook.css",
    "/static/page.js",
    "/static/mark.svg",
    "/static/fonts/Regular.ttf",
)
BROKEN = ("/nothing", "/static/nothing", "/?setting=x", "/static/fonts/No.ttf")


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def _text(page: str) -> str:
    parser = _Text()
    parser.feed(page)
    return " ".join(" ".join(parser.words).split())


class TestHeaders:
    @pytest.mark.parametrize("path", [*DATA_PAGES, *OWN_FILES, *BROKEN])
    def test_every_answer_carries_the_strict_policy(
        self, client: TestClient, path: str
    ) -> None:
        headers = client.get(path).headers
        policy = {
            name: sources
            for name, _, sources in (
                part.strip().partition(" ")
                for part in headers["content-security-policy"].split(";")
            )
        }
        assert policy == {
            "default-src": "'none'",
            "script-src": "'self'",
            "style-src": "'self'",
            "img-src": "'self'",
            "font-src": "'self'",
            "connect-src": "'self'",
            "base-uri": "'none'",
            "object-src": "'none'",
            "frame-ancestors": "'none'",
            "form-action": "'self'",
        }
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"

    @pytest.mark.parametrize("path", [*DATA_PAGES, "/nothing"])
    def test_what_shows_a_house_is_never_kept(
        self, client: TestClient, path: str
    ) -> None:
        assert client.get(path).headers["cache-control"] == "no-store"

    @pytest.mark.parametrize("path", OWN_FILES)
    def test_our_own_files_are_served(self, client: TestClient, path: str) -> None:
        answer = client.get(path)
        assert answer.status_code == 200
        assert answer.headers["cache-control"] == "no-cache"

    def test_no_cross_origin_header_is_ever_sent(self, client: TestClient) -> None:
        answer = client.get("/", headers={"Origin": "http://elsewhere.test"})
        assert "access-control-allow-origin" not in answer.headers


class TestHost:
    @pytest.mark.parametrize("path", ["/", *OWN_FILES, "/openapi.json", "/nothing"])
    @pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "[::1]"])
    def test_our_three_names_with_our_port_pass(
        self, client: TestClient, host: str, path: str
    ) -> None:
        answer = client.get(path, headers={"Host": f"{host}:8710"})
        assert answer.status_code == (404 if path == "/nothing" else 200)

    @pytest.mark.parametrize("path", ["/", *OWN_FILES, "/openapi.json", "/nothing"])
    @pytest.mark.parametrize(
        "host",
        [
            "127.0.0.1",
            "localhost",
            "127.0.0.1:8711",
            "127.0.0.1:08710",
            "127.0.0.2:8710",
            "elsewhere.test:8710",
            "localhost.elsewhere.test:8710",
            "localhost.:8710",
            "LOCALHOST.test",
            "::1:8710",
            "[::1]",
            "0.0.0.0:8710",
            "user@127.0.0.1:8710",
            "127.0.0.1:8710, elsewhere.test",
            "",
        ],
    )
    def test_any_other_host_is_refused_in_one_line(
        self, client: TestClient, host: str, path: str
    ) -> None:
        answer = client.get(path, headers={"Host": host})
        assert answer.status_code == 403
        assert answer.headers["content-type"].startswith("text/plain")
        assert len(answer.text.splitlines()) == 1
        assert "content-security-policy" in answer.headers

    def test_two_hosts_are_refused(self, client: TestClient) -> None:
        twice = [("Host", "127.0.0.1:8710"), ("Host", "127.0.0.1:8710")]
        assert client.get("/", headers=twice).status_code == 403

    def test_a_forwarded_host_changes_nothing(self, client: TestClient) -> None:
        forwarded = {"Host": "elsewhere.test", "X-Forwarded-Host": "127.0.0.1:8710"}
        assert client.get("/", headers=forwarded).status_code == 403


class TestErrors:
    @pytest.mark.parametrize("path", ["/nothing", "/static/nothing", "/check", "/docs"])
    def test_an_unknown_address_is_a_page_with_one_sentence(
        self, client: TestClient, path: str
    ) -> None:
        answer = client.get(path)
        assert answer.status_code == 404
        assert "There is nothing at this address" in _text(answer.text)

    @pytest.mark.parametrize(
        "path", ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py"]
    )
    def test_nothing_outside_our_own_files_is_served(
        self, client: TestClient, path: str
    ) -> None:
        assert client.get(path).status_code == 404

    @pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS"])
    def test_the_page_can_only_be_read(self, client: TestClient, method: str) -> None:
        answer = client.request(method, "/")
        assert answer.status_code == 405
        assert "can only be read" in _text(answer.text)

    @pytest.mark.parametrize(
        "setting", ["33", "0", "-32", "nan", "inf", "32 A", "<script>", "1e2", "９"]
    )
    def test_a_setting_that_is_no_step_is_named_with_the_steps(
        self, client: TestClient, setting: str
    ) -> None:
        answer = client.get("/", params={"setting": setting})
        assert answer.status_code == 400
        assert "<script>" not in answer.text
        words = _text(answer.text)
        assert repr(setting) in words
        assert "16 A, 20 A, 24 A, 32 A" in words

    def test_an_edition_that_is_not_held_is_named_with_those_that_are(
        self, client: TestClient
    ) -> None:
        answer = client.get("/", params={"edition": "2021"})
        assert answer.status_code == 400
        assert "'2021'; accepted: one of 2017, 2020, 2023, 2026." in _text(answer.text)

    @pytest.mark.parametrize("typed", ["0.001", "80.0", "32"])
    def test_without_steps_any_current_up_to_80_a_may_be_asked(
        self, client: TestClient, plan: Path, typed: str
    ) -> None:
        plan.write_text("schema = 1", encoding="utf-8")
        assert client.get("/", params={"setting": typed}).status_code == 200

    @pytest.mark.parametrize("typed", ["0", "80.001", "nan", "ten"])
    def test_without_steps_a_setting_beyond_0_to_80_a_is_refused(
        self, client: TestClient, plan: Path, typed: str
    ) -> None:
        plan.write_text("schema = 1", encoding="utf-8")
        assert client.get("/", params={"setting": typed}).status_code == 400

    def test_our_own_mistake_is_a_page_that_tells_nothing_of_the_inside(
        self, client: TestClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fails(*_given: object, **_named: object) -> None:
            raise RuntimeError("inside matter")

        monkeypatch.setattr(actions, "check", fails)
        answer = client.get("/")
        assert answer.status_code == 500
        assert "could not be made" in _text(answer.text)
        assert "inside matter" not in answer.text
        assert "content-security-policy" in answer.headers
        assert answer.headers["cache-control"] == "no-store"


class TestPlan:
    def test_every_fault_of_a_plan_stands_on_the_page(
        self, client: TestClient, plan: Path
    ) -> None:
        plan.write_text(
            'schema = 1\n[service]\nid = "service"\nvoltage = "<b>"\ncolour = "red"\n',
            encoding="utf-8",
        )
        answer = client.get("/")
        words = _text(answer.text)
        assert answer.status_code == 422
        assert "2 things to mend" in words
        assert "line 4" in words
        assert "line 5" in words
        assert "<b>" not in answer.text

    def test_a_missing_plan_is_a_fault_not_a_crash(
        self, client: TestClient, plan: Path
    ) -> None:
        plan.unlink()
        answer = client.get("/")
        assert answer.status_code == 422
        assert "no such file" in _text(answer.text)

    def test_a_changed_plan_is_read_again(self, client: TestClient, plan: Path) -> None:
        assert client.get("/").status_code == 200
        whole = plan.read_text(encoding="utf-8")
        plan.write_text(whole + "[", encoding="utf-8")
        assert client.get("/").status_code == 422
        plan.write_text(whole, encoding="utf-8")
        assert client.get("/").status_code == 200

    def test_a_plan_without_edition_offers_the_editions(
        self, plan: Path, client: TestClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.undo()
        plan.write_text("schema = 1", encoding="utf-8")
        answer = client.get("/")
        assert answer.status_code == 422
        assert '<option value="2026"' in answer.text


class TestPage:
    def test_the_headline_comes_first_and_whole(self, client: TestClient) -> None:
        words = _text(client.get("/").text)
        for part in (
            "The weaver's house (invented)",
            "falls short",
            "At 80 A the conductor in the attic is too small (invented).",
            "Largest, prudent reading none",
            "Largest, as worded 80 A",
            "The circuit may carry 64 A",
            "Circuit: the attic caps it (invented).",
            "Book values not confirmed 2",
            "25 November 2026",
            "NFPA 70, 2023 edition",
            "invented-town",
        ):
            assert part in words

    def test_groups_stand_gravest_first(self, client: TestClient) -> None:
        headings = re.findall(r"<h2[^>]*>(.*?)</h2>", client.get("/").text)
        assert headings == [
            "What stops",
            "What must be done",
            "What is narrow",
            "What cannot be told",
            "Advice",
            "Not known, and where to look",
            "Capacity of the service",
            "The circuit",
            "Taken as given",
            "Also checked",
            "Not confirmed",
            "How it is reckoned",
        ]

    def test_every_row_with_a_number_opens_its_working(
        self, client: TestClient
    ) -> None:
        page = client.get("/").text.replace("\N{NO-BREAK SPACE}", " ")
        summaries = re.findall(r"<summary>(.*?)</summary>", page)
        for amount in ("155.8 A", "203.5 A", "235.5 A", "150.2 A", "246.1 A"):
            assert f"Working of {amount}" in summaries
        assert "Working of the service rating" in summaries
        assert "Working: 86.2 A against 100 A" in summaries

    def test_a_working_gives_formula_numbers_value_and_source(
        self, client: TestClient
    ) -> None:
        words = _text(client.get("/").text)
        assert (
            "charger setting × voltage = 80 A × 240 V 19,200 VA "
            "NFPA 70-2023 220.57 from memory"
        ) in words

    def test_a_signal_word_is_text_and_a_notice_has_no_triangle(
        self, client: TestClient
    ) -> None:
        page = client.get("/").text
        signals = re.findall(
            r'<span class="signal (\w+)">(.*?)([A-Z]+)</span>', page, re.DOTALL
        )
        assert {(name, word, "triangle" in drawn) for name, drawn, word in signals} == {
            ("warning", "WARNING", True),
            ("notice", "NOTICE", False),
        }

    def test_setting_and_edition_asked_for_are_shown_and_stay_chosen(
        self, client: TestClient
    ) -> None:
        page = client.get("/", params={"setting": "32", "edition": "2020"}).text
        assert "NFPA 70, 2020 edition" in _text(page)
        assert "Setting asked about 32 A" in _text(page)
        assert '<option value="32" selected>' in page
        assert '<option value="2020" selected>' in page

    def test_a_finding_of_the_circuit_stands_in_its_table_and_not_twice(
        self, client: TestClient
    ) -> None:
        words = _text(client.get("/").text)
        assert "Terminals, charger 3 AWG 8 AWG to 1/0 AWG meets" in words
        assert words.count("Torque it to the printed value (invented).") == 1

    def test_what_is_not_confirmed_is_listed(self, client: TestClient) -> None:
        words = _text(client.get("/").text)
        listed = words[words.index("Not confirmed Cited") :]
        assert "NFPA 70-2023 220.57 from memory" in listed
        assert "NFPA 70-2023 110.14(D) common practice" in listed
        assert "220.82(B)" not in listed

    @pytest.mark.parametrize("path", ["/", "/nothing"])
    def test_nothing_inline_and_nothing_from_elsewhere(
        self, client: TestClient, path: str
    ) -> None:
        page = client.get(path).text
        assert not re.search(r"\sstyle=|<style|\son\w+=|javascript:", page)
        assert re.findall(r"<script([^>]*)>([^<]*)</script>", page) == [
            (' src="/static/page.js"', "")
        ]
        for address in re.findall(r'(?:src|href|action)="([^"]*)"', page):
            assert address.startswith(("/", "#"))
            assert not address.startswith("//")

    def test_no_element_id_stands_twice(self, client: TestClient) -> None:
        ids = re.findall(r'\sid="([^"]+)"', client.get("/").text)
        assert len(ids) == len(set(ids))

    @pytest.mark.parametrize(
        "word", ["safe", "ok", "certified", "guaranteed", "compliant"]
    )
    def test_words_that_promise_too_much_are_not_used(
        self, client: TestClient, word: str
    ) -> None:
        assert word not in re.findall(r"\w+", _text(client.get("/").text).lower())

    def test_the_description_of_the_pages_is_kept_but_no_page_that_fetches_scripts(
        self, client: TestClient
    ) -> None:
        assert "/" in client.get("/openapi.json").json()["paths"]
        assert client.get("/docs").status_code == 404
        assert client.get("/redoc").status_code == 404


class TestServe:
    def test_a_taken_port_is_one_sentence(self, plan: Path) -> None:
        with socket.socket() as taken:
            taken.bind(("127.0.0.1", 0))
            taken.listen()
            port = taken.getsockname()[1]
            with pytest.raises(InputError, match=f"port: {port} cannot be used") as got:
                serve(plan, port)
        assert len(str(got.value).splitlines()) == 1

    @pytest.mark.parametrize("port", [-1, 65_536])
    def test_a_port_that_is_none_is_one_sentence(self, plan: Path, port: int) -> None:
        with pytest.raises(InputError, match=f"port: {port} cannot be used"):
            serve(plan, port)

    @pytest.mark.parametrize("wanted", [True, False])
    def test_it_prints_its_loopback_address_and_opens_a_browser_only_if_asked(
        self,
        plan: Path,
        monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str],
        wanted: bool,
    ) -> None:
        served: list[tuple[str, int]] = []
        opened: list[str] = []

        class Server:
            def run(self, sockets: list[socket.socket]) -> None:
                served.extend(listener.getsockname() for listener in sockets)

        monkeypatch.setattr(web_app, "_server", lambda _path: Server())
        monkeypatch.setattr(web_app.webbrowser, "open", opened.append)
        serve(plan, 0, open_browser=wanted)
        [(host, port)] = served
        assert host == "127.0.0.1"
        address = f"http://127.0.0.1:{port}/"
        assert address in capsys.readouterr().out
        assert opened == ([address] if wanted else [])

    def test_an_interrupt_ends_it_quietly(
        self, plan: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ran: list[bool] = []

        class Server:
            def run(self, sockets: list[socket.socket]) -> None:
                ran.append(True)
                raise KeyboardInterrupt

        monkeypatch.setattr(web_app, "_server", lambda _path: Server())
        serve(plan, 0)
        assert ran == [True]

    def test_the_real_server_checks_host_against_its_own_port(self, plan: Path) -> None:
        with serving(plan) as address:
            port = _port(address)
            answers = {
                host: _first_line(port, host)
                for host in (f"127.0.0.1:{port}", "127.0.0.1:1", f"panel.test:{port}")
            }
        assert answers == {
            f"127.0.0.1:{port}": "HTTP/1.1 200 OK",
            "127.0.0.1:1": "HTTP/1.1 403 Forbidden",
            f"panel.test:{port}": "HTTP/1.1 403 Forbidden",
        }

    def test_a_websocket_is_never_opened(self, plan: Path) -> None:
        with serving(plan) as address:
            port = _port(address)
            wish = (
                "Connection: Upgrade\r\nUpgrade: websocket\r\n"
                "Sec-WebSocket-Version: 13\r\n"
                "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n"
            )
            assert _first_line(port, f"127.0.0.1:{port}", wish) == "HTTP/1.1 200 OK"


def _port(address: str) -> int:
    return int(address.rsplit(":", 1)[1].rstrip("/"))


def _first_line(port: int, host: str, more: str = "Connection: close\r\n") -> str:
    request = f"GET /static/page.js HTTP/1.1\r\nHost: {host}\r\n{more}\r\n"
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.sendall(request.encode())
        return line.makefile().readline().strip()
