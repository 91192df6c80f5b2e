"""Twenty visitors of the local page at once for a minute, each in a window of its own, over a real line.

Run: python -m tests.benchmarks.visitors [SECONDS]

Prints how many answers came, how many were errors, and the median and the slowest of them; exit status 1 where there
was an error.
"""

from __future__ import annotations

import random
import re
import statistics
import subprocess
import sys
import threading
import time
import urllib.request
from http.cookiejar import CookieJar
from pathlib import Path

VISITORS = 20


def main(seconds: float) -> int:
    """Serve the demo details and visit them; how many answers were errors."""
    folder = Path(__file__).parents[2] / "details"
    command = [sys.executable, "-m", "bridge2d", "serve", str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout is not None
            address = next(found[0] for line in server.stdout if (found := re.search(r"http://\S+", line)))
            times: list[float] = []
            wrong: list[str] = []
            end = time.monotonic() + seconds
            threads = [threading.Thread(target=_visit, args=(k, address, end, times, wrong)) for k in range(VISITORS)]
            for one in threads:
                one.start()
            for one in threads:
                one.join()
        finally:
            server.terminate()
    print(
        f"{len(times)} answers, {len(wrong)} errors, "
        f"median {statistics.median(times):.2f} s, slowest {max(times):.2f} s"
    )
    for one in wrong[:10]:
        print(f"  {one}")
    return len(wrong)


def _visit(number: int, address: str, end: float, times: list[float], wrong: list[str]) -> None:
    chance = random.Random(number)
    client = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    client.open(address, timeout=120)
    root = address.partition("/?")[0]
    while time.monotonic() < end:
        joist = f"/detail/tollhouse_joist.toml?p.insulation_thickness={chance.randint(40, 140)}"
        pages = ("/", joist, f"{joist}&layers=heat", "/detail/tollhouse_party_wall.toml/point?x=10&y=10", "/materials")
        begun = time.monotonic()
        try:
            request = urllib.request.Request(root + chance.choice(pages), headers={"hx-request": "true"})
            client.open(request, timeout=120).read()
        except OSError as error:  # also a line that was cut
            wrong.append(f"{error!r} {request.full_url}")
        times.append(time.monotonic() - begun)


if __name__ == "__main__":
    sys.exit(1 if main(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0) else 0)
