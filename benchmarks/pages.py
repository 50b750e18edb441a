"""How long every page takes, and how many questions it asks the database, with 10,000 dogs.

`python benchmarks/pages.py --home FOLDER` makes the invented town there if it is missing, follows every link from the
desk on as the groomer who is signed in, takes one address of each kind, asks for it once to warm up and five times to
measure, through Django's own test client (no network, no browser). It prints a table and ends with 1 when any page's
median is over 150 ms or it asks 30 questions or more.
"""

import argparse
import json
import os
import re
import statistics
import sys
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, urljoin, urlsplit

sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

if TYPE_CHECKING:
    from django.test import Client

DOGS = 10_000
TIMES = 5
MOST_MS = 150
MOST_QUESTIONS = 29
MOST_KINDS = 250
ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
LINK = re.compile(r'(?:href|action|hx-get|src)="([^"#]+)')
SIGNED = re.compile(r"(?<=/letters/open/)[^/]+")
NOT_ASKED = ("/static/", "/sign-out/", "/sign-in/")
ASKED_TOO = (
    "/people/?find=la",
    "/people/?find=moth",
    "/people/?find=5550",
    "/people/?find=zzzz",
    "/letters/?find=la",
    "/visits/?find=moth",
)


@dataclass(frozen=True)
class Measured:
    """One page: its kind, questions asked, milliseconds."""

    kind: str
    url: str
    status: int
    questions: int
    median_ms: float
    worst_ms: float
    processor_ms: float
    kilobytes: float

    @property
    def is_over(self) -> bool:
        return self.median_ms > MOST_MS or self.questions > MOST_QUESTIONS or self.status >= 500


def kind_of(url: str) -> str:
    """An address without its ids and the values of what follows the question mark."""
    parts = urlsplit(url)
    path = SIGNED.sub("SIGNED", ID.sub("ID", parts.path))
    return path + ("?" + "&".join(sorted(parse_qs(parts.query, keep_blank_values=True))) if parts.query else "")


def reached(client: "Client") -> list[str]:
    """One address of every kind that can be reached from the desk, and some searches."""
    queue, kinds = deque(["/", *ASKED_TOO]), {"/"}
    found: list[str] = []
    while queue and len(found) < MOST_KINDS:
        url = queue.popleft()
        answer = client.get(url)
        if answer.status_code == 405:
            continue
        found.append(url)
        if answer.status_code != 200 or not answer.headers.get("Content-Type", "").startswith("text/html"):
            continue
        for link in LINK.findall(answer.content.decode()):
            there = urljoin(url, link.replace("&amp;", "&"))
            there = urlsplit(there)._replace(scheme="", netloc="").geturl() if "//127.0.0.1" in there else there
            if there.startswith("/") and not there.startswith(NOT_ASKED) and kind_of(there) not in kinds:
                kinds.add(kind_of(there))
                queue.append(there)
    return found


def measure(client: "Client", url: str) -> Measured:
    from django.db import connection

    asked: list[str] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        asked.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        client.get(url)
    times, own = [], []
    for _ in range(TIMES):
        began, began_own = time.perf_counter(), time.process_time()
        answer = client.get(url)
        size = len(answer.getvalue())
        times.append(1000 * (time.perf_counter() - began))
        own.append(1000 * (time.process_time() - began_own))
    return Measured(
        kind_of(url) if url not in ASKED_TOO else url,
        url,
        answer.status_code,
        len(asked),
        statistics.median(times),
        max(times),
        statistics.median(own),
        size / 1000,
    )


def print_table(pages: Sequence[Measured]) -> None:
    print("| page | questions | median of 5, ms | most, ms | of the processor, ms | kB |  |")
    print("|---|---:|---:|---:|---:|---:|---|")
    for page in sorted(pages, key=lambda page: -page.median_ms):
        word = f"answers {page.status}" if page.status >= 400 else ""
        word = "over" if page.is_over else word
        print(
            f"| {page.kind} | {page.questions} | {page.median_ms:.0f} | {page.worst_ms:.0f} "
            f"| {page.processor_ms:.0f} | {page.kilobytes:.0f} | {word} |"
        )


def ready(folder: Path, dogs: int) -> None:
    """The town in its folder, and its own week held as today."""
    from coatround.demo_command import MARK_FILE, demo_main
    from coatround.start import bring_up_to_date, use_home

    os.environ["COATROUND_HOME"] = str(folder)
    if not (folder / MARK_FILE).exists() and demo_main(["--home", str(folder), "--no-serve", "--dogs", str(dogs)]):
        sys.exit(2)
    os.environ["COATROUND_TODAY"] = json.loads((folder / MARK_FILE).read_text())["week"]
    use_home(str(folder))
    bring_up_to_date()


def main() -> int:
    told = argparse.ArgumentParser(description="Measures every page of the invented town with 10,000 dogs.")
    told.add_argument("--home", required=True, type=Path, help="the folder of the town; made if missing (some minutes)")
    told.add_argument("--dogs", type=int, default=DOGS, help="how many dogs to make where it is missing (10000)")
    told.add_argument("--only", default="", help="only pages whose address holds this")
    asked = told.parse_args()
    ready(asked.home.expanduser().resolve(), asked.dogs)
    from django.conf import settings
    from django.test import Client

    from coatround.serving import settle_memory
    from coatround.web.base.models import Worker

    settings.ALLOWED_HOSTS.append("testserver")
    client = Client(raise_request_exception=False)
    client.force_login(Worker.objects.order_by("made_at", "id")[0])
    urls = [url for url in reached(client) if asked.only in url]
    settle_memory()  # as the served process does
    pages = [measure(client, url) for url in urls]
    print_table(pages)
    over = [page for page in pages if page.is_over]
    print(f"\n{len(pages)} pages, {len(over)} over {MOST_MS} ms or with more than {MOST_QUESTIONS} questions.")
    return 1 if over or not pages else 0


if __name__ == "__main__":
    sys.exit(main())
