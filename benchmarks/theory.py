"""Speed of the arithmetic, printed as a table. Run by hand from the repository: ``python -m benchmarks.theory``.

(As a path, ``python benchmarks/theory.py``, this file would hide the package of the same name.) Each row is the median
of several runs in one process. Targets are those of the plan; a row without one is for information.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from fractions import Fraction

from rich.console import Console
from rich.table import Table

from theory.carry import carry
from theory.fingering import spread
from theory.fretboard import Fretboard, parse_tuning
from theory.notation import parse
from theory.notation_print import to_text
from theory.paper import check
from theory.passage import join
from theory.recognise import recognise
from theory.solve import solve, starts_and_dams
from theory.solve_chakradar import solve_chakradars
from theory.talas import get_tala
from theory.tihai import Chain, LandingRule, Tihai, flat

RUNS = 7
TEENTAL, JHAPTAL = get_tala("teental"), get_tala("jhaptal")
FIVE = Tihai(parse("Dha Ti Ta Ka Dha"), Fraction(1))
CHAKRADAR = Tihai(Chain((parse("Ti " * 12), Tihai(parse("Ti Ti Ti Ti Dha")))))
THEKA = "Dha Dhin DhaGe TiRaKiTa Dha - Tin Ta "


def jobs() -> list[tuple[str, Callable[[], object], float | None]]:
    """Return what is timed, with the target in ms where there is one."""
    notation = THEKA * 1250
    long = parse(notation)
    with_tihai = join([parse(THEKA * 125), flat(CHAKRADAR)])
    board = Fretboard(parse_tuning("G,D,A,E"))
    scale = ["S", "R", "G", "m", "P", "D", "N", "S'", "N", "D", "P", "m", "G", "R"] * 8
    return [
        ("solve, teental, subdivision 4, palla up to 16", lambda: solve(TEENTAL, 1, 1, 4, palla_most=16), 20.0),
        ("the same, after", lambda: solve(TEENTAL, 1, 1, 4, LandingRule.AFTER, palla_most=16), 20.0),
        (
            "starts and dams of a palla, subdivision 4",
            lambda: starts_and_dams(TEENTAL, parse("Dha Ti Dha"), 1, 4),
            None,
        ),
        ("chakradars, teental, whole matras", lambda: solve_chakradars(TEENTAL), None),
        ("parse 10,000 matras", lambda: parse(notation), 200.0),
        ("print 10,000 matras", lambda: to_text(long), None),
        ("check a tihai", lambda: check(TEENTAL, 1, FIVE, LandingRule.WITHIN), None),
        ("check one that misses, with its mends", lambda: check(TEENTAL, 2, FIVE, LandingRule.WITHIN), None),
        ("check a chakradar", lambda: check(TEENTAL, 1, CHAKRADAR, LandingRule.WITHIN), None),
        ("recognise a chakradar after 1,000 matras", lambda: recognise(with_tihai), None),
        ("carry over, teental to jhaptal", lambda: carry(FIVE, TEENTAL, JHAPTAL), None),
        ("spread 112 swaras over four strings", lambda: spread(board, board.pitch(2, 5), scale), None),
    ]


def main() -> None:
    """Print the table."""
    table = Table(title="Theory")
    for column in ("work", "ms", "target ms"):
        table.add_column(column, justify="left" if column == "work" else "right")
    for name, work, target_ms in jobs():
        times_ms = []
        for _ in range(RUNS):
            start = time.perf_counter()
            work()
            times_ms.append(1000 * (time.perf_counter() - start))
        table.add_row(name, f"{statistics.median(times_ms):.2f}", f"{target_ms:g}" if target_ms else "")
    Console().print(table)


if __name__ == "__main__":
    main()
