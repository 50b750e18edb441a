"""`coatround serve` as a real process: it answers, signs in by its link, and ends without cutting anyone off."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode

import pytest

from coatround.web.build import BUILD

SOURCE = Path(__file__).parents[1] / "src"


def environment(home: Path, **more: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COATROUND_", "DJANGO_"))}
    return kept | {"PYTHONPATH": str(SOURCE), "COATROUND_HOME": str(home)} | more


def start(home: Path, *words: str, code: str | None = None) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", code] if code else [sys.executable, "-m", "coatround"]
    return subprocess.Popen(
        [*command, "serve", *words],
        env=environment(home),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def opened(process: subprocess.Popen[str]) -> str:
    """The address that the process prints once it serves."""
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http://\S+", line)
    assert found, line or (process.stderr.read() if process.stderr else "")
    return found[0]


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    process = start(tmp_path / "served", "--port", "0")
    try:
        yield process, opened(process)
    finally:
        process.kill()
        process.communicate()


def test_it_works(served: tuple[subprocess.Popen[str], str]) -> None:
    """The printed link signs in, once; static files come without any step of collecting them."""
    process, link = served
    base = "/".join(link.split("/")[:3])
    with urllib.request.urlopen(f"{base}/health") as answer:
        assert b"up" in answer.read()
    with urllib.request.urlopen(f"{base}/static/{BUILD}/base/coatround.css") as answer:
        assert b"--" in answer.read()
    jar = CookieJar()
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', browser.open(link).read().decode())
    assert token
    form = urlencode({"csrfmiddlewaretoken": token[1]}).encode()
    browser.open(link, form).close()
    assert "sessionid" in {cookie.name for cookie in jar}
    with pytest.raises(urllib.error.HTTPError, match="403"):
        browser.open(link, form)
    process.send_signal(signal.SIGTERM)
    assert process.wait(20) == 0


SLOW = """
import os, sys, time
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coatround.web.settings")
from coatround import serving
real = serving.waitress.create_server
def with_a_slow_page(application, **words):
    def slow(environ, start_response):
        if environ["PATH_INFO"] == "/slow":
            print("begun", flush=True)
            while not os.path.exists("RELEASED"):
                time.sleep(0.05)
            start_response("200 OK", [("Content-Type", "text/plain")])
            return [b"finished " * 200000]
        return application(environ, start_response)
    return real(slow, **words)
serving.waitress.create_server = with_a_slow_page
from coatround.cli import main
sys.exit(main())
"""


def is_refused(host: str, port: int) -> bool:
    """Whether new connections come to be refused; a busy machine may take its time to hear the signal."""
    until = time.monotonic() + 20
    while time.monotonic() < until:
        try:
            socket.create_connection((host, port), timeout=2).close()
        except OSError:
            return True
        time.sleep(0.05)
    return False


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_running_request_is_finished_when_it_is_told_to_end(tmp_path: Path, number: signal.Signals) -> None:
    released = tmp_path / "released"
    process = start(tmp_path / "slow", "--port", "0", code=SLOW.replace("RELEASED", str(released)))
    try:
        host, port = opened(process).split("/")[2].split(":")
        connection = http.client.HTTPConnection(host, int(port), timeout=20)
        got: list[bytes] = []

        def ask() -> None:
            connection.request("GET", "/slow")
            got.append(connection.getresponse().read())

        asking = threading.Thread(target=ask)
        asking.start()
        assert process.stdout is not None
        assert process.stdout.readline() == "begun\n"
        process.send_signal(number)
        assert is_refused(host, int(port))
        released.touch()
        asking.join(20)
        assert got == [b"finished " * 200000]
        assert process.wait(20) == 0
    finally:
        process.kill()
        process.communicate()


def test_a_port_in_use_is_said_in_words(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        process = start(tmp_path / "port", "--port", str(taken.getsockname()[1]))
        out, words = process.communicate(timeout=30)
    assert (process.returncode, out) == (2, "")
    assert "in use" in words
    assert "--port" in words
    assert "Traceback" not in words


@pytest.mark.parametrize("typed", ["70000", "eighty", "-1"])
def test_a_port_that_is_none_is_refused(tmp_path: Path, typed: str) -> None:
    process = start(tmp_path / "port", f"--port={typed}")
    _, words = process.communicate(timeout=30)
    assert process.returncode == 2
    assert "not a port" in words


def test_a_home_that_cannot_be_made_is_said_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    process = start(tmp_path, "--port", "0", "--home", str(tmp_path / "file"))
    _, words = process.communicate(timeout=30)
    assert process.returncode == 2
    assert "--home" in words
    assert "Traceback" not in words


def test_a_file_that_is_no_database_is_said_in_words(tmp_path: Path) -> None:
    (tmp_path / "coatround.sqlite3").write_bytes(b"not a database at all" * 500)
    process = start(tmp_path, "--port", "0")
    _, words = process.communicate(timeout=30)
    assert process.returncode == 2
    assert "can't be opened" in words
    assert "Traceback" not in words
