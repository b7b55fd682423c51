"""An answer as somebody writes it, read exactly.

Conventions: besides what :func:`theory.numbers.parse_matras` reads, an answer may have a unit ("5 matras", "matra 9"),
signs for parts ("5½"), words ("five and a half", "three quarters"), "sam", "none", a decimal comma, and the digits of
any script. How far a landing misses is written with its way: "1/2 short", "1 over", or "lands".
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction

from theory.errors import BadExercise, BadNumber
from theory.exercises.question import Asked
from theory.numbers import parse_matras

LONGEST = 60
"""Characters of an answer."""
_PARTS = {"half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "eighth": 8, "eighths": 8}
_ONE_TO_TWELVE = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_NUMBERS = {word: str(number) for number, word in enumerate(_ONE_TO_TWELVE, 1)}
_COUNTED_PARTS = re.compile(rf"(\d+) ({'|'.join(_PARTS)})(?!\w)")
_SHORT = {"short", "early", "before", "under", "below", "less"}
_OVER = {"over", "late", "after", "past", "beyond", "overshoots", "more"}
_LANDS = {"lands", "land", "yes", "sam", "exactly"}
_IDLE = {"of", "by", "it", "is", "too", "falls", "comes", "matra", "matras", "on", "the", "a", "an", "and", "target"}


def read_answer(text: str, asked: Asked) -> Fraction:
    """Read an answer.

    Parameters
    ----------
    text : str
        As it was written.
    asked : str
        What was asked (:data:`theory.exercises.question.ASKED`).

    Returns
    -------
    Fraction
        Matras, or a matra number; of ``miss`` how far it falls short, negative where it overshoots.

    Raises
    ------
    BadExercise
        It is no answer; the message says how one is written.
    """
    if len(text) > LONGEST:
        raise BadExercise(f"An answer has at most {LONGEST} characters.")
    words = _plain(text).split()
    if not words:
        raise BadExercise("No answer has been written yet.")
    if asked == "miss":
        return _read_miss(text, words)
    named = {"sam": "1"} if asked == "start" else {"none": "0", "no": "0", "dam": "", "gap": ""}
    return _count(text, [named.get(word, word) for word in words], "Write a count of matras: 5, 5 1/2, 11/2 or 5.5.")


def _read_miss(text: str, words: list[str]) -> Fraction:
    how = "Write it as: lands, 1/2 short, 1 over."
    ways = {word for word in words if word in _SHORT | _OVER}
    left = [word for word in words if word not in ways]
    if not ways and all(word in _LANDS | _IDLE for word in left):
        return Fraction(0)
    count = _count(text, [word for word in left if word not in {"sam"}], how)
    if count == 0:
        return count
    if not ways:
        raise BadExercise(f"Which way is it off, short of the target or over it? {how}")
    if ways & _SHORT and ways & _OVER:
        raise BadExercise(f"It cannot be short and over at once. {how}")
    return abs(count) if ways & _SHORT else -abs(count)


def _plain(text: str) -> str:
    """Write digits of any script, signs for parts, dashes and commas plainly."""
    spaced = "".join(f" {each}" if unicodedata.category(each) == "No" else each for each in text)
    plain = unicodedata.normalize("NFKC", spaced).casefold()
    digits = "".join(str(unicodedata.digit(each)) if each.isdigit() else each for each in plain)
    signs = digits.translate({0x2044: "/", 0x2212: "-", 0x2013: "-", 0x00A0: " "})
    signs = re.sub(r"(?<=\d),(?=\d)", ".", signs)
    signs = re.sub(r"(?<=\d)-(?=\d+/)", " ", signs)  # 5-1/2
    return re.sub(r"\s*/\s*", "/", signs.strip(" .!?"))


def _count(text: str, words: list[str], how: str) -> Fraction:
    told = " ".join(_NUMBERS.get(word, word) for word in words)
    told = _COUNTED_PARTS.sub(lambda match: f"{match[1]}/{_PARTS[match[2]]}", told)
    plain = [f"1/{_PARTS[word]}" if word in _PARTS else word for word in told.split() if word not in _IDLE]
    try:
        return parse_matras(" ".join(plain))
    except BadNumber:
        raise BadExercise(f"'{text.strip()}' cannot be read as an answer. {how}") from None
