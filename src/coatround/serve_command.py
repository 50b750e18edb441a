"""`coatround serve`: shows Coatround in the browser."""

import argparse
import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from coatround import start
from coatround.digits import whole_number
from coatround.serving import CannotServe, Served, free_or_words
from coatround.serving_https import ServedByHttps, must_be_usable

if TYPE_CHECKING:
    from coatround.web.base.models import Worker

LOOPBACK = ("127.0.0.1", "localhost", "::1")


def port_number(typed: str) -> int:
    """A port as typed, 0 (any free one) to 65535."""
    port = whole_number(typed, 65535)
    if port is None:
        raise argparse.ArgumentTypeError(f"{typed!r} is not a port. Give a whole number from 1024 to 65535, like 8000.")
    return port


def parser() -> argparse.ArgumentParser:
    told = argparse.ArgumentParser(
        prog="coatround serve",
        description="Shows Coatround in the browser of this computer. Your records stay in one folder on this "
        "computer; nothing is sent anywhere. Stop it with Ctrl-C: whatever is being saved is saved first.",
        epilog="Example: coatround serve --home ~/groomer. It ends with 0 when stopped, 2 when it can't start.",
    )
    told.add_argument(
        "--home", metavar="DIR", type=start.named, help="the folder that holds everything you own (made if missing)"
    )
    told.add_argument("--port", type=port_number, default=8000, help="the number after the colon in the address (8000)")
    told.add_argument(
        "--host",
        default="127.0.0.1",
        help="the address to listen on; 127.0.0.1 (the default) lets only this computer in",
    )
    told.add_argument(
        "--link",
        action="store_true",
        help="print a link that signs you in once, for when a password is lost (printed anyway while nobody has one)",
    )
    told.add_argument(
        "--certificate",
        metavar="FILE",
        type=start.named,
        help="serve https with this certificate (PEM), for phones on a house network; needs the tls extra",
    )
    told.add_argument("--key", metavar="FILE", type=start.named, help="its key, where that is not in the same file")
    return told


def serve_main(argv: Sequence[str]) -> int:
    """Serves a home folder until it is stopped; returns the exit status."""
    asked = parser().parse_args(argv)
    if asked.key and not asked.certificate:
        print("coatround serve: --key needs --certificate: name the certificate it belongs to.", file=sys.stderr)
        return 2
    try:
        if asked.certificate:
            must_be_usable(asked.certificate, asked.key)
            os.environ["COATROUND_HTTPS"] = "yes"
        free_or_words(asked.host, asked.port)
        home = start.use_home(asked.home)
        start.bring_up_to_date(loud=True)
        served = (
            ServedByHttps(asked.host, asked.port, asked.certificate, asked.key)
            if asked.certificate
            else Served(asked.host, asked.port)
        )
    except (start.CannotStart, CannotServe) as error:
        print(f"coatround serve: {error}", file=sys.stderr)
        return 2
    print(f"Coatround keeps its records in {home}", file=sys.stderr)
    if asked.host not in LOOPBACK and not asked.certificate:
        print(
            f"It listens on {asked.host}: others on this network can reach the sign-in page, and nothing hides what "
            "passes between. Put a server with https before it (COATROUND_HTTPS, COATROUND_HOSTS).",
            file=sys.stderr,
        )
    print_address(address_of(asked.host, served.port, https=bool(asked.certificate)), with_link=asked.link)
    served.run()
    print("Stopped.", file=sys.stderr)
    return 0


def address_of(host: str, port: int, *, https: bool = False) -> str:
    """Where a browser on this computer finds what listens there."""
    shown = host if host in LOOPBACK else "127.0.0.1"
    return f"{'https' if https else 'http'}://{f'[{shown}]' if ':' in shown else shown}:{port}"


def print_address(address: str, *, with_link: bool) -> None:
    """Prints where to go: a link that signs in once when it is asked for, or while nobody has a password."""
    from coatround.web.base.signing_in import new_sign_in_link

    worker, has_password = first_worker()
    if with_link or not has_password:
        print(f"Open {address}/sign-in/{new_sign_in_link(worker)}/", flush=True)
    else:
        print(f"Open {address}/", flush=True)


def first_worker() -> "tuple[Worker, bool]":
    """The first who works here, made as "you" where there is none; and whether anyone has a password."""
    from coatround.web.base.models import Worker

    workers = list(Worker.objects.filter(is_active=True).order_by("made_at", "id"))
    if not workers:
        worker = Worker(name="you", sign_in_name="you")
        worker.set_unusable_password()
        worker.save()
        return worker, False
    return workers[0], any(worker.password and worker.has_usable_password() for worker in workers)
