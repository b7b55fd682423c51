"""Errors that a user can understand and mend.

::

    LayakoshError                 root of all; the command line prints it and exits with code 2
    ├── TheoryError               something that cannot be true on paper
    │   ├── UnknownName           a tala or raga that does not exist; offers the nearest names
    │   ├── NotationError         a text that does not parse; shows the place with a caret
    │   ├── BadNumber             a text that is not a matra count
    │   ├── BadClock              a text that is not a time in a recording
    │   ├── BadTihai              a tihai that nobody could play (negative dam, no stroke, start outside the tala)
    │   ├── BadExercise           exercises that cannot be set, or an answer that is none
    │   ├── BadFretting           a tuning, string, fret or swara that the instrument does not have
    │   └── BadData               a table of talas, bols, swaras or ragas that contradicts itself
    ├── ingest.errors.IngestError
    └── annotate.errors.ArchiveError

Every message says in one or two lines what was expected, what came, where, and what to do.
"""

from __future__ import annotations

from collections.abc import Sequence


class LayakoshError(Exception):
    """Root of all errors that are the input's fault, with a message meant for the musician."""


class TheoryError(LayakoshError):
    """Something that cannot be true on paper (a negative dam, a start outside the tala ...)."""


class UnknownName(TheoryError):
    """A name that no table carries.

    Parameters
    ----------
    kind : str
        What was looked for, as the user calls it: ``"tala"``, ``"raga"``.
    name : str
        What came.
    nearest : sequence of str
        The nearest names that exist, best first; may be empty.
    known : sequence of str, optional
        Names to show when none is near.
    """

    def __init__(self, kind: str, name: str, nearest: Sequence[str], known: Sequence[str] = ()) -> None:
        self.kind, self.name, self.nearest = kind, name, tuple(nearest)
        if nearest:
            hint = f"Did you mean {' or '.join(nearest)}?"
        else:
            hint = f"There are {', '.join(known)} ..." if known else "Check the spelling."
        super().__init__(f"No {kind} is called '{name}'. {hint}")


class NotationError(TheoryError):
    """A text of swaras or bols that does not parse.

    Parameters
    ----------
    text : str
        The whole text as typed.
    column : int
        Where it goes wrong, counted from 0 in ``text``.
    why : str
        What was expected there and what came.
    """

    def __init__(self, text: str, column: int, why: str) -> None:
        self.text, self.column, self.why = text, column, why
        before, shown = text[:column], text.replace("\t", " ")  # a tab would push the caret out of place
        line = before.count("\n")
        place = column - (before.rfind("\n") + 1)
        super().__init__(f"{why}\n  {shown.split(chr(10))[line]}\n  {' ' * place}^")


class BadNumber(TheoryError):
    """A text that should be a count of matras (``5``, ``11/2``, ``5 1/2``, ``5.5``) and is not."""


class BadClock(TheoryError):
    """A text that should be a time in a recording (``62.5``, ``1:02.5``, ``1:02:03.5``) and is not."""


class BadTihai(TheoryError):
    """A tihai that nobody could play: the message names the part, what came and what is possible."""


class BadExercise(TheoryError):
    """Exercises that cannot be set, or an answer that cannot be read; the message says what was expected."""


class BadFretting(TheoryError):
    """A tuning, string, fret or swara that the instrument does not have; the message says where it would lie."""


class BadData(TheoryError):
    """A row of a data file that contradicts itself; the message names file, row and field."""
