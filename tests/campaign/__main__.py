"""Robustness campaign: `python -m tests.campaign --minutes N [--seed S]`.

Random sections and junctions and damaged files, for as long as told; prints counts by kind. Every failure is written
into a folder as the file that fails, with the traceback beside it. `--write` stores the counts for the validation.
"""

from __future__ import annotations

import argparse
import random
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from bridge2d import __version__
from tests.campaign import mutations, sections

COUNTS = Path(__file__).parents[2] / "bridge2d" / "data" / "campaign.csv"
HEADING = "version,date,minutes,seed,kind,held,refused,failed\n"
LONGEST = 120
"""An example that takes longer counts as a failure [s]."""
KINDS = {
    "plane section": 4,
    "oblique section": 3,
    "solid of revolution": 2,
    "junction": 3,
    "damaged TOML": 6,
    "damaged DXF": 3,
    "damaged PDF": 1,
}
"""Kinds of examples, and how often each comes."""


class Example:
    """One example: its file, and the function that examines it."""

    def __init__(self, ending: str, data: bytes, examine: Callable[[], str]) -> None:
        """Keep what a failure needs."""
        self.ending, self.data, self.examine = ending, data, examine


def example(kind: str, rng: random.Random, folder: Path, bases: dict[str, bytes]) -> Example:
    """An example of a kind."""
    if kind == "junction":
        text = sections.random_junction(rng)
        return Example(".toml", text.encode(), lambda: sections.examine_junction(text))
    if kind == "damaged TOML":
        base = rng.choice(mutations.toml_sources()).read_bytes()
        data = rng.choice([mutations.damaged, mutations.damaged_lines])(base, rng)
        return Example(".toml", data, lambda: mutations.examine_toml(data))
    if kind == "damaged DXF":
        data = rng.choice([mutations.damaged, mutations.damaged_lines])(bases["dxf"], rng)
        return Example(".dxf", data, lambda: mutations.examine_dxf(data, folder))
    if kind == "damaged PDF":
        data = mutations.damaged_report(bases["pdf"], rng)
        return Example(".pdf", data, lambda: mutations.examine_pdf(data, folder))
    spec = sections.random_spec(rng, {"plane section": "plane", "oblique section": "oblique"}.get(kind, "revolution"))
    return Example(".toml", spec.text().encode(), lambda: sections.examine(spec, rng))


def _too_long(*_: object) -> None:
    raise TimeoutError(f"longer than {LONGEST} s")


def run(minutes: float, seed: int, failures: Path, first: int = 0, most: int = 10**9) -> Counter[tuple[str, str]]:
    """Examine examples until time is up.

    Args:
        minutes: how long.
        seed: of all chance; an example has the chance of (seed, its number).
        failures: folder of what fails.
        first: number of the first example.
        most: how many examples at most.

    Returns:
        How many examples of each kind held, were refused, or failed.
    """
    counts: Counter[tuple[str, str]] = Counter()
    until = time.monotonic() + 60 * minutes
    bases = {"dxf": mutations.drawing(), "pdf": mutations.report()}
    signal.signal(signal.SIGALRM, _too_long)
    with tempfile.TemporaryDirectory() as name:
        number = first
        while time.monotonic() < until and number < first + most:
            rng = random.Random(f"{seed}/{number}")
            kind = rng.choices(list(KINDS), list(KINDS.values()))[0]
            one = example(kind, rng, Path(name), bases)
            signal.alarm(LONGEST)
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("error", RuntimeWarning)
                    outcome = one.examine()
            except Exception:  # noqa: BLE001 - whatever it is, it is a failure
                outcome = "failed"
                failures.mkdir(parents=True, exist_ok=True)
                place = failures / f"{seed}_{number}_{kind.replace(' ', '_')}"
                place.with_suffix(one.ending).write_bytes(one.data)
                place.with_suffix(".txt").write_text(traceback.format_exc(), encoding="utf-8")
                print(f"failed: {place.with_suffix(one.ending)}", file=sys.stderr, flush=True)
            finally:
                signal.alarm(0)
            counts[kind, outcome] += 1
            number += 1
    return counts


def rows(counts: Counter[tuple[str, str]]) -> list[tuple[str, int, int, int]]:
    """Kind, held, refused, failed."""
    return [(kind, *(counts[kind, outcome] for outcome in ("held", "refused", "failed"))) for kind in KINDS]


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m tests.campaign", description=__doc__.split("\n\n")[0])
    parser.add_argument("--minutes", type=float, required=True)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first example")
    parser.add_argument("--most", type=int, default=10**9, help="how many examples at most")
    parser.add_argument("--failures", type=Path, default=Path(tempfile.gettempdir()) / "bridge2d_campaign")
    parser.add_argument("--write", action="store_true", help="add the counts to those of reports/validation.pdf")
    given = parser.parse_args()
    counts = run(given.minutes, given.seed, given.failures, given.first, given.most)
    print(f"{'kind':<22}{'held':>8}{'refused':>9}{'failed':>8}")
    for kind, held, refused, failed in rows(counts):
        print(f"{kind:<22}{held:>8}{refused:>9}{failed:>8}")
    failed = sum(number for (_, outcome), number in counts.items() if outcome == "failed")
    print(f"{counts.total()} examples in {given.minutes:g} minutes, seed {given.seed}: {failed} failed")
    if given.write:
        day = datetime.now(UTC).date().isoformat()
        lines = [
            f"{__version__},{day},{given.minutes:g},{given.seed},{','.join(map(str, row))}" for row in rows(counts)
        ]
        kept = COUNTS.read_text(encoding="utf-8") if COUNTS.exists() else HEADING
        COUNTS.write_text(kept + "\n".join(lines) + "\n", encoding="utf-8")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
