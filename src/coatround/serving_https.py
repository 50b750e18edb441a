"""https by Coatround itself, through granian: the `tls` extra, for a house without a proxy."""

import importlib.util
import os
import ssl
from pathlib import Path

from coatround.serving import THREADS, CannotServe

SECONDS_TO_FINISH = 30


def must_be_usable(certificate: str, key: str | None) -> None:
    """Raises CannotServe where granian is missing, or the certificate and its key can't be used together."""
    if importlib.util.find_spec("granian") is None:
        raise CannotServe(
            "--certificate needs granian, which is not installed. Install it (pip install coatround[tls]), or put a "
            "server with https before Coatround."
        )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    try:
        context.load_cert_chain(certificate, key, password=lambda: b"")
    except FileNotFoundError:
        raise CannotServe(f"The certificate {certificate} or its key {key or certificate} is not there.") from None
    except OSError as error:  # ssl.SSLError is one too
        why = getattr(error, "reason", None) or error.strerror or error
        raise CannotServe(
            f"The certificate {certificate} and the key {key or certificate} can't be used together: {why}. Both are "
            "PEM files, the key without a password, the certificate with those it hangs on."
        ) from error


class ServedByHttps:
    """A server that ends https itself; `run` serves until SIGTERM or SIGINT, then lets what is running finish."""

    def __init__(self, host: str, port: int, certificate: str, key: str | None) -> None:
        from granian import Granian
        from granian.constants import Interfaces, SSLProtocols
        from granian.http import HTTP1Settings

        self.port = port
        self.server = Granian(
            "coatround.web.wsgi:application",
            address=host,
            port=port,
            interface=Interfaces.WSGI,
            blocking_threads=THREADS,
            http1_settings=HTTP1Settings(),
            ssl_cert=Path(certificate),
            ssl_key=Path(key or certificate),
            ssl_protocol_min=SSLProtocols.tls12,
            workers_kill_timeout=SECONDS_TO_FINISH,
            log_enabled=False,
        )

    def run(self) -> None:
        """Serves until told to stop; its worker is a process of its own, with this one's environment."""
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coatround.web.settings")
        self.server.serve()
