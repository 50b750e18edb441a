"""`coatround doctor https ADDRESS`: says whether a phone will trust this address, and what to do when it won't."""

import argparse
import datetime as dt
import http.client
import socket
import ssl
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

SECONDS = 10
FEW_DAYS = 14
LOOPBACK = ("127.0.0.1", "localhost", "::1")
EXPIRED, NOT_YET, SELF_SIGNED, OWN_ROOT, NO_ISSUER, NOT_FIRST, OTHER_NAME, OTHER_ADDRESS = 10, 9, 18, 19, 20, 21, 62, 64
"""Numbers of OpenSSL's verification errors (X509_V_ERR_..., openssl-verification-options(1))."""


@dataclass(frozen=True)
class Finding:
    """Whether it is well, what was found, and what to do next."""

    is_well: bool
    words: str


def parser() -> argparse.ArgumentParser:
    told = argparse.ArgumentParser(
        prog="coatround doctor",
        description="Asks an address as a phone would, and says whether the phone will trust it: only then does it "
        "hold the next runs without signal. It asks nothing but that address.",
        epilog="Example: coatround doctor https https://groomer.example. It ends with 0 when a phone will trust it, "
        "1 when not, 2 when what was given is no address.",
    )
    told.add_argument("what", choices=["https"], help="what to look at")
    told.add_argument("address", help="the address as the phone opens it, like https://groomer.example")
    told.add_argument("--trust", metavar="FILE", help="a house certificate (PEM) that the phone was told to trust")
    return told


def doctor_main(argv: Sequence[str]) -> int:
    """Prints what was found, one line a finding; returns the exit status."""
    asked = parser().parse_args(argv)
    parts = urlsplit(asked.address)
    try:
        named = parts.scheme in ("http", "https") and parts.hostname and (parts.port or 1)
    except ValueError:
        named = None
    if not named:
        print(
            f"coatround doctor: {asked.address!r} is no address. Write it like https://groomer.example.",
            file=sys.stderr,
        )
        return 2
    try:
        context = ssl.create_default_context(cafile=asked.trust)
    except (OSError, ssl.SSLError) as error:
        print(f"coatround doctor: --trust {asked.trust} can't be read as a certificate: {error}.", file=sys.stderr)
        return 2
    findings = look(parts, context, dt.datetime.now(dt.UTC))
    for finding in findings:
        print(("well: " if finding.is_well else "not: ") + finding.words)
    return 0 if all(finding.is_well for finding in findings) else 1


def look(parts: SplitResult, context: ssl.SSLContext, now: dt.datetime) -> list[Finding]:
    """What a phone would find at an address; the first thing that is not well ends the look."""
    host = parts.hostname or ""
    if parts.scheme == "http" and host in LOOPBACK:
        return [
            Finding(True, f"{host} is this computer itself: its own browser holds pages without https. No phone does.")
        ]
    if parts.scheme == "http":
        return [Finding(False, f"{host} is asked by http: a phone records, but holds no pages. Put https before it.")]
    try:
        return _by_https(host, parts.port or 443, context, now)
    except ssl.SSLCertVerificationError as error:
        return [Finding(False, _distrust(error, host))]
    except ssl.SSLError as error:
        return [Finding(False, f"{host} does not speak https there ({error.reason}). Is it the port of the proxy?")]
    except OSError as error:
        return [
            Finding(False, f"{host} can't be reached: {error.strerror or error}. Is the name right, and is it running?")
        ]


def _by_https(host: str, port: int, context: ssl.SSLContext, now: dt.datetime) -> list[Finding]:
    with (
        socket.create_connection((host, port), timeout=SECONDS) as bare,
        context.wrap_socket(bare, server_hostname=host) as spoken,
    ):
        until = (spoken.getpeercert() or {}).get("notAfter", "")
    found = [_lasting(str(until), now)]
    asked = http.client.HTTPSConnection(host, port, timeout=SECONDS, context=context)
    asked.request("GET", "/sw.js")
    answer = asked.getresponse()
    kind = answer.headers.get("Content-Type", "")
    asked.close()
    if answer.status == 200 and kind.startswith("text/javascript"):
        return [*found, Finding(True, "Coatround answers there, and its pages can be held on a phone.")]
    words = f"/sw.js answers {answer.status} {kind or 'without a kind'}, not Coatround's script. "
    return [*found, Finding(False, words + "Does the proxy pass every path on, and the Host (COATROUND_HOSTS)?")]


def _lasting(until: str, now: dt.datetime) -> Finding:
    ends = dt.datetime.fromtimestamp(ssl.cert_time_to_seconds(until), dt.UTC)
    days = (ends - now).days
    words = f"The certificate is one that this computer trusts, for {days} days more."
    return Finding(True, words + (" Renew it soon: when it is over, phones hold nothing." if days < FEW_DAYS else ""))


def _distrust(error: ssl.SSLCertVerificationError, host: str) -> str:
    """Why a certificate is not trusted, and what to do."""
    match error.verify_code:
        case code if code in (SELF_SIGNED, OWN_ROOT):
            return (
                "The certificate vouches for itself; a phone refuses it, also when somebody taps it away. Install it "
                "on the phone as trusted (and name it here with --trust), or take a public one."
            )
        case code if code in (EXPIRED, NOT_YET):
            return "The certificate is over, or not valid yet. Renew it, and look at the clock of this computer."
        case code if code in (OTHER_NAME, OTHER_ADDRESS):
            return f"The certificate is for another name than {host}. Open that name, or make one for {host}."
        case code if code in (NO_ISSUER, NOT_FIRST):
            return "Nobody trusted stands behind the certificate, or the one between is left out. Send the whole chain."
        case _:
            return f"The certificate is not trusted: {error.verify_message}. Take a public one, or install yours."
