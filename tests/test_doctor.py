"""`coatround doctor https` against real sockets with certificates made here by openssl."""

import shutil
import socket
import ssl
import subprocess
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from coatround.doctor_command import doctor_main

OPENSSL = shutil.which("openssl")
pytestmark = pytest.mark.skipif(OPENSSL is None, reason="SKIPPED: no openssl on this machine to make certificates with")


class Coatround(BaseHTTPRequestHandler):
    """Answers as the address of the service worker does."""

    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", self.server.kind)  # type: ignore[attr-defined]
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:
        pass


def certificate(folder: Path, name: str, days: str = "30") -> Path:
    """One that vouches for itself, with its key, for a DNS name."""
    made = folder / f"{name}-{days}.pem"
    subprocess.run(
        [str(OPENSSL), "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", days, "-subj", f"/CN={name}",
         "-addext", f"subjectAltName=DNS:{name}", "-keyout", str(made), "-out", f"{made}.crt"],
        check=True, capture_output=True,
    )  # fmt: skip
    made.write_text(made.read_text() + Path(f"{made}.crt").read_text())
    return made


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[ThreadingHTTPServer, Path]]:
    """A server on localhost with a house certificate."""
    made = certificate(tmp_path, "localhost")
    server = ThreadingHTTPServer(("127.0.0.1", 0), Coatround)
    server.kind = "text/javascript; charset=utf-8"  # type: ignore[attr-defined]
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(made)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server, made
    server.shutdown()
    server.server_close()


def test_a_house_certificate(
    served: tuple[ThreadingHTTPServer, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused as it is; well once it is trusted; refused again under another name."""
    server, made = served
    address = f"https://localhost:{server.server_address[1]}"
    assert doctor_main(["https", address]) == 1
    assert "vouches for itself" in capsys.readouterr().out
    assert doctor_main(["https", address, "--trust", str(made)]) == 0
    said = capsys.readouterr().out
    assert "for 29 days more" in said
    assert "can be held on a phone" in said
    assert doctor_main(["https", address.replace("localhost", "127.0.0.1"), "--trust", str(made)]) == 1
    assert "another name" in capsys.readouterr().out
    server.kind = "text/html"  # type: ignore[attr-defined]
    assert doctor_main(["https", address, "--trust", str(made)]) == 1
    assert "not Coatround's script" in capsys.readouterr().out


def test_what_is_no_https(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert doctor_main(["https", "http://127.0.0.1:8000"]) == 0
    assert doctor_main(["https", "http://groomer.example"]) == 1
    assert "holds no pages" in capsys.readouterr().out
    with socket.create_server(("127.0.0.1", 0)) as silent:
        port = silent.getsockname()[1]
    assert doctor_main(["https", f"https://127.0.0.1:{port}"]) == 1
    assert "can't be reached" in capsys.readouterr().out
    for wrong in ("groomer", "https://", "https://groomer.example:port"):
        assert doctor_main(["https", wrong]) == 2
    assert doctor_main(["https", "https://groomer.example", "--trust", str(tmp_path / "none.pem")]) == 2
    assert "can't be read" in capsys.readouterr().err
