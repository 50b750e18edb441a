"""The web server: waitress, with an end that lets running requests finish."""

import errno
import gc
import os
import signal
import socket
import sys
import time
from types import FrameType
from typing import Any

import waitress
from waitress import wasyncore
from waitress.channel import HTTPChannel
from waitress.server import BaseWSGIServer

THREADS = 8
SECONDS_TO_FINISH = 30


def settle_memory() -> None:
    """Leaves what start-up made out of later looks for rubbish, and looks less often: pages do not pause for it."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


class CannotServe(Exception):
    """The address can't be served on; the message says why and what to do."""


def free_or_words(host: str, port: int) -> None:
    """Raises CannotServe when the port is taken, before anything slow is begun."""
    try:
        with socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET):
            return
    except OSError as error:
        raise CannotServe(_words(error, host, port)) from error
    except (TypeError, UnicodeError) as error:
        raise CannotServe(f"--host {host} is no address. Leave it out, or write one like 127.0.0.1.") from error


def _words(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is in use, perhaps by Coatround itself. End that program, or choose another with --port."
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"Port {port} may not be used by this user. Choose one from 1024 to 65535 with --port."
    return f"The address {host}, port {port}, can't be served on: {error.strerror or error}. Name another with --host."


class Served:
    """A server that listens; `run` serves until SIGTERM or SIGINT, then lets what is running finish."""

    def __init__(self, host: str, port: int) -> None:
        from django.conf import settings

        from coatround.web.wsgi import application

        self.sockets: dict[int, Any] = {}
        self.stopping = False
        name = f"[{host}]" if ":" in host else host
        try:
            self.server = waitress.create_server(
                application,
                map=self.sockets,
                listen=f"{name}:{port}",
                threads=THREADS,
                ident="coatround",
                clear_untrusted_proxy_headers=settings.SECURE_PROXY_SSL_HEADER is None,
            )
        except (OSError, ValueError) as error:
            words = _words(error, host, port) if isinstance(error, OSError) else f"--host {host}: {error}"
            raise CannotServe(words) from error
        self.listeners = [each for each in self.sockets.values() if isinstance(each, BaseWSGIServer)]
        self.port = int(self.listeners[0].effective_port)

    def run(self) -> None:
        """Serves until told to stop. A second signal stops at once."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        settle_memory()
        while not self.stopping:
            self._turn()
        self._finish()

    def _turn(self) -> None:
        wasyncore.loop(timeout=1, map=self.sockets, count=1)

    def _stop(self, number: int, frame: FrameType | None) -> None:
        if self.stopping:
            os._exit(1)
        self.stopping = True
        self.listeners[0].pull_trigger()

    def _finish(self) -> None:
        """Takes no new connection, answers what has been asked, and ends."""
        for listener in self.listeners:
            listener.accepting = False
            listener.del_channel(self.sockets)
            listener.socket.close()
        ends = time.monotonic() + SECONDS_TO_FINISH
        if self._busy():
            print("Finishing what is running ...", file=sys.stderr, flush=True)
        while self._busy() and time.monotonic() < ends:
            self._turn()
        self.server.task_dispatcher.shutdown(timeout=1)

    def _busy(self) -> bool:
        """Whether any request is being received, worked on or answered."""
        channels = [each for each in self.sockets.values() if isinstance(each, HTTPChannel)]
        return any(each.requests or each.request is not None or each.total_outbufs_len for each in channels)
