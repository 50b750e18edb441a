"""`coatround serve --certificate`: https by the command itself, and words when the files can't be used."""

import os
import ssl
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from coatround.doctor_command import doctor_main
from tests.browser.conftest import ROOT, free_port
from tests.test_doctor import OPENSSL, certificate

pytestmark = pytest.mark.skipif(OPENSSL is None, reason="SKIPPED: no openssl on this machine to make certificates with")


def serve(home: Path, *words: str) -> subprocess.Popen[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    program = [sys.executable, "-m", "coatround", "serve", "--home", str(home), *words]
    return subprocess.Popen(program, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_it_serves_https_and_a_phone_trusts_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sign-in page over https with secure cookies; the doctor is content; it ends when told to."""
    made, port = certificate(tmp_path, "localhost"), free_port()
    server = serve(tmp_path / "home", "--port", str(port), "--certificate", str(made))
    try:
        context = ssl.create_default_context(cafile=str(made))
        address, page, cookies = f"https://localhost:{port}", "", ""
        for _wait in range(300):
            try:
                with urllib.request.urlopen(f"{address}/sign-in/", context=context, timeout=10) as answer:
                    page, cookies = answer.read().decode(), answer.headers.get("Set-Cookie", "")
                break
            except OSError:
                assert server.poll() is None, server.stderr.read() if server.stderr else ""
                time.sleep(0.2)
        assert "Sign in" in page
        assert "Secure" in cookies
        assert doctor_main(["https", address, "--trust", str(made)]) == 0
        assert "can be held on a phone" in capsys.readouterr().out
    finally:
        server.terminate()
        said, _wrong = server.communicate(timeout=60)
    assert server.returncode == 0
    assert f"https://127.0.0.1:{port}" in said


def test_files_that_cannot_be_used(tmp_path: Path) -> None:
    made = certificate(tmp_path, "localhost")
    other = certificate(tmp_path, "elsewhere")
    junk = tmp_path / "junk.pem"
    junk.write_text("no certificate")
    for words, said in (
        (["--certificate", str(tmp_path / "none.pem")], "is not there"),
        (["--certificate", str(junk)], "can't be used together"),
        (["--certificate", f"{made}.crt", "--key", str(other)], "can't be used together"),
        (["--key", str(made)], "--key needs --certificate"),
    ):
        server = serve(tmp_path / "home", "--port", str(free_port()), *words)
        _out, wrong = server.communicate(timeout=60)
        assert server.returncode == 2, wrong
        assert said in wrong
        assert "Traceback" not in wrong
