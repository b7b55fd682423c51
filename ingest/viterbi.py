"""The compiled heart of `bar_pointer`: one pass of Viterbi over the rows of a window, and the way back.

A row is a frame; there is room for a longest matra before and after the window. A state is a matra of the tala: the
first half of the states is in the theka, the second in a solo. Compiled on first use (some seconds) and kept on disk by
numba from then on. Arrays are laid out so that the innermost loops run over the states, side by side in memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

Scores = NDArray[np.float32]
Whole = NDArray[np.int64]

NEVER = np.float32(-1e9)
HARDLY = np.float32(-5e8)  # below: no path comes here
NEIGHBOURS = 5  # how many steps the length may change from a matra to the next at a graded price
STEPS = 2 * NEIGHBOURS + 1
JUMP, BEGINS = STEPS, STEPS + 1  # names of what a path came by, beside the changes 0 to STEPS - 1
WAYS = STEPS + 2


@dataclass(frozen=True)
class Window:
    """What `forward` goes through. Scores are laid out by row, with nothing scored in the room before and after.

    Parameters
    ----------
    theka : shape (rows, m)
        Score of each matra's first stroke when it begins at a row.
    inner_matra, inner_share, inner : shapes (i,), (i,), (i, rows)
        Strokes of the theka inside a matra: which, where, and their scores.
    open_side : shape (m,)
        1 where the bayan is open, 0 where it is closed.
    fill : shape (2, levels, rows)
        Score of a place between strokes, open and closed side, by how usual it is to fill it.
    fill_at, fill_level : shapes (l, f)
        Where these places are, in rows from the matra's beginning, and how usual: 0 not at all, else level + 1.
    hit, solo_at, solo_parts : shapes (rows,), (l, k, parts), (l, k)
        Score of any stroke; and for each length the places of a solo, and into how many parts (0: it may not).
    lengths, change : shapes (l,), (STEPS, l)
        Lengths of a matra in rows, and the price of coming to length l from l + step - NEIGHBOURS.
    begin : shape (l, 2 m)
        Score with which a path may begin in that state at the rows up to ``first_row``; if ``entered``, at it only.
    first_row, last_row : int
        Rows of the section: the first matra ends after the first, the last ends after the last.
    marks, between : shape (rows + 1,)
        Running counts of marked sams, and of rows at which an unmarked sam costs ``unmarked_price``.
    slack : int
        Rows by which a matra may last longer or shorter, at ``slack_price`` per row squared.
    """

    theka: Scores
    inner_matra: Whole
    inner_share: NDArray[np.float64]
    inner: Scores
    open_side: Scores
    fill: Scores
    fill_at: Whole
    fill_level: Whole
    hit: Scores
    solo_at: Whole
    solo_parts: Whole
    lengths: Whole
    change: Scores
    begin: Scores
    first_row: int
    entered: bool
    last_row: int
    marks: Whole
    between: Whole
    slack: int
    slack_price: np.float32
    jump_price: np.float32
    solo_price: np.float32
    solo_entry: np.float32
    unmarked_price: np.float32


@dataclass(frozen=True)
class Way:
    """The best path: rows at which its matras begin, their states and indices of length; its end and score."""

    row: Whole
    state: Whole
    length: Whole
    end: int
    score: float


def best_way(window: Window) -> Way | None:
    """Give the best path through a window; None when there is none."""
    score, end, length, state, way, jump_from, turned = _forward(*vars(window).values())
    if score <= HARDLY:
        return None
    states = way.shape[2]
    matras = states // 2
    row, found = end, []
    while True:
        row -= int(window.lengths[length]) + int(way[row, length, state]) // WAYS - window.slack
        found.append((row, state, length))
        by = int(way[row, length, state]) % WAYS
        if by == BEGINS:
            break
        length = int(jump_from[row, state]) if by == JUMP else length + by - NEIGHBOURS
        if state == 0:
            state = states - 1 if turned[row, length] & 1 else matras - 1
        elif state == matras:
            state = matras - 1 if turned[row, length] & 2 else states - 1
        else:
            state -= 1
    rows, numbers, indices = np.array(found[::-1], dtype=np.int64).T
    return Way(rows, numbers, indices, int(end), float(score))


compiled: Any = numba.njit(cache=True, fastmath=True, nogil=True)


@compiled
def _forward(  # type: ignore[no-untyped-def] # numba tells the types
    theka, inner_matra, inner_share, inner, open_side, fill, fill_at, fill_level, hit, solo_at, solo_parts,
    lengths, change, begin, first_row, entered, last_row, marks, between, slack, slack_price, jump_price,
    solo_price, solo_entry, unmarked_price,
):  # fmt: skip
    """Go through the rows; keep by what each state was best reached."""
    rows, matras = theka.shape
    states, count = 2 * matras, len(lengths)
    ring = int(lengths[-1]) + slack + 1
    # length before row: the rows that end here lie side by side in memory, and were fetched for the row before
    opened = np.full((count, ring, states), NEVER, np.float32)
    live = np.zeros((count, ring), np.bool_)
    way = np.zeros((rows, count, states), np.uint8)
    jump_from = np.zeros((rows, states), np.int16)
    turned = np.zeros((rows, count), np.uint8)
    closed, arrived = np.empty((count, states), np.float32), np.empty((count, states), np.float32)
    late = np.empty((count, states), np.int32)
    best, by = np.empty(states, np.float32), np.empty(states, np.int32)
    end_score, end_row, end_length, end_state = NEVER, 0, 0, 0
    for row in range(rows):
        for length in range(count):
            _close(row, length, lengths, slack, slack_price, marks, opened, live, closed, late)
            if row >= last_row:
                for s in range(states):
                    begun = row - lengths[length] - (late[length, s] - slack)
                    if begun < last_row and closed[length, s] > end_score:
                        end_score, end_row, end_length, end_state = closed[length, s], row, length, s
        here = row % ring
        _turn(row, matras, solo_entry, closed, arrived, turned)
        leap = _leaps(row, arrived, jump_from) - jump_price
        marked = marks[row + 1] > marks[row]
        toll = unmarked_price if between[row + 1] > between[row] and not marked else np.float32(0)
        for length in range(count):
            for s in range(states):
                best[s], by[s] = leap[s], JUMP
            _change_length(length, change, arrived, best, by)
            if row <= first_row < row + lengths[length] and (row == first_row or not entered):
                for s in range(states):
                    if begin[length, s] > best[s]:
                        best[s], by[s] = begin[length, s], BEGINS
            if marked:
                best[1:matras] = NEVER
                best[matras + 1 :] = NEVER
            best[0] -= toll
            best[matras] -= toll
            top = NEVER
            for s in range(states):
                way[row, length, s] = by[s] + WAYS * late[length, s]
                top = max(top, best[s])
            live[length, here] = top > HARDLY
            if live[length, here]:
                into = opened[length, here]
                solo = _solo_score(row, length, solo_at, solo_parts, hit) - solo_price
                _open_theka(row, length, theka, open_side, fill, fill_at, fill_level, best, into)
                for i in range(len(inner_matra)):
                    place = row + int(inner_share[i] * lengths[length] + 0.5)
                    if place < rows:
                        into[inner_matra[i]] += inner[i, place]
                for s in range(matras):
                    into[matras + s] = best[matras + s] + solo
    return end_score, end_row, end_length, end_state, way, jump_from, turned


@compiled
def _close(row, length, lengths, slack, slack_price, marks, opened, live, closed, late):  # type: ignore[no-untyped-def]
    """A matra of that length ends here, a little early or late; none does that has a marked sam inside."""
    _, ring, states = opened.shape
    for s in range(states):
        closed[length, s], late[length, s] = NEVER, slack
    middle = (row - lengths[length]) % ring
    for d in range(-slack, slack + 1):
        start, at = row - lengths[length] - d, middle - d
        if at < 0:
            at += ring
        elif at >= ring:
            at -= ring
        if start < 0 or not live[length, at] or (row > start + 1 and marks[row] > marks[start + 1]):
            continue
        cost = slack_price * np.float32(d * d)
        for s in range(states):
            score = opened[length, at, s] - cost
            if score > closed[length, s]:
                closed[length, s] = score
                late[length, s] = d + slack


@compiled
def _turn(row, matras, solo_entry, closed, arrived, turned):  # type: ignore[no-untyped-def]
    """The state before each state; at sam theka and solo change into each other."""
    count, states = closed.shape
    for length in range(count):
        for s in range(1, states):
            arrived[length, s] = closed[length, s - 1]
        of_theka, of_solo = closed[length, matras - 1], closed[length, states - 1]
        arrived[length, 0] = max(of_theka, of_solo)
        arrived[length, matras] = max(of_theka - solo_entry, of_solo)
        turned[row, length] = (of_solo > of_theka) + 2 * (of_theka - solo_entry > of_solo)


@compiled
def _leaps(row, arrived, jump_from):  # type: ignore[no-untyped-def]
    """The best of any length, by state: from there the laya may jump."""
    count, states = arrived.shape
    leap = np.full(states, NEVER, np.float32)
    for length in range(count):
        for s in range(states):
            if arrived[length, s] > leap[s]:
                leap[s] = arrived[length, s]
                jump_from[row, s] = length
    return leap


@compiled
def _change_length(length, change, arrived, best, by):  # type: ignore[no-untyped-def]
    """From the neighbouring lengths to this one."""
    count, states = arrived.shape
    for other in range(max(0, length - NEIGHBOURS), min(count, length + NEIGHBOURS + 1)):
        step = other - length + NEIGHBOURS
        cost = change[step, length]
        for s in range(states):
            score = arrived[other, s] - cost
            if score > best[s]:
                best[s] = score
                by[s] = step


@compiled
def _open_theka(row, length, theka, open_side, fill, fill_at, fill_level, best, into):  # type: ignore[no-untyped-def]
    """Score a matra of the theka that begins here, with what is filled in."""
    on_open, on_closed = np.float32(0), np.float32(0)
    for f in range(fill_at.shape[1]):
        level = fill_level[length, f]
        place = row + fill_at[length, f]
        if level > 0 and place < len(theka):
            on_open += fill[0, level - 1, place]
            on_closed += fill[1, level - 1, place]
    for s in range(theka.shape[1]):
        into[s] = best[s] + theka[row, s] + on_closed + (on_open - on_closed) * open_side[s]


@compiled
def _solo_score(row, length, solo_at, solo_parts, hit):  # type: ignore[no-untyped-def]
    """The best of the divisions a solo may take."""
    best = NEVER
    for q in range(solo_parts.shape[1]):
        total = np.float32(0)
        for k in range(solo_parts[length, q]):
            place = row + solo_at[length, q, k]
            if place < len(hit):
                total += hit[place]
        if solo_parts[length, q] > 0 and total > best:
            best = total
    return best
