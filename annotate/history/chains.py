"""Which edits hold, and which have been taken back.

A revision that takes another back names it (``undoes``). So revisions hang together in chains: an edit, its undo, the
undo of that (a redo), and so on. An edit holds when the last of its chain is the edit itself or a redo.

What comes next to be undone or redone is what people are used to:

* undo takes the edit that was made (or redone) last and holds; again, the one before it;
* redo brings back what was undone last; again, what was undone before that;
* a new edit ends what can be redone; an undo of somebody else's edit, or a redo, does not;
* what holds for one person goes by the edits that they made or redid, and by the undoings that are theirs or of their
  edits; what others edit between does not count. For everyone, every revision counts;
* the revision that took the recording in is no edit and cannot be undone, nor is a withdrawal of the whole recording,
  which has commands of its own.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from annotate.history.ledger import Head, Ledger


class Chains:
    """The chains of a recording's revisions.

    Parameters
    ----------
    heads : sequence of Head
        All its revisions, in order.
    set_apart : collection of int
        Revisions that are no edits: those that withdrew the recording.
    """

    def __init__(self, heads: Sequence[Head], set_apart: Collection[int] = ()) -> None:
        self._set_apart = {1, *set_apart}
        self._heads = {head.number: head for head in heads}
        self._edit: dict[int, int] = {}
        self._depth: dict[int, int] = {}
        self._links: dict[int, list[int]] = {}
        self._by: dict[int, int] = {}
        for head in heads:
            undoes = head.undoes if head.undoes in self._edit else 0
            self._edit[head.number] = self._edit[undoes] if undoes else head.number
            self._depth[head.number] = self._depth[undoes] + 1 if undoes else 0
            self._links.setdefault(self._edit[head.number], []).append(head.number)
            if undoes:
                self._by[undoes] = head.number

    @classmethod
    def of(cls, ledger: Ledger) -> Chains:
        """Return the chains of a recording's ledger."""
        return cls(ledger.heads, ledger.withdrawals)

    def kind(self, number: int) -> str:
        """Return ``edit``, ``undo`` or ``redo``."""
        return "edit" if self._depth[number] == 0 else "undo" if self._depth[number] % 2 else "redo"

    def taken_back_by(self, number: int) -> int:
        """Return the revision that takes this one back; 0 where none does."""
        return self._by.get(number, 0)

    def edit_of(self, number: int) -> Head:
        """Return the edit that a chain begins with."""
        return self._heads[self._edit[number]]

    def head(self, number: int) -> Head:
        """Return a revision."""
        return self._heads[number]

    def turned_since(self, number: int, since: int) -> bool:
        """Tell whether the edit that a revision's chain begins with holds now and did not then, or the reverse."""
        return self._holds(self._edit[number], since) != self._holds(self._edit[number], number=None)

    def _holds(self, edit: int, number: int | None) -> bool:
        """Tell whether an edit holds, or held as of a revision; one that was not made yet does not."""
        until = [each for each in self._links[edit] if number is None or each <= number]
        return bool(until) and self._depth[until[-1]] % 2 == 0

    def next_undo(self, who: str | None) -> int:
        """Return the revision that an undo takes back; 0 where none is left. ``who`` is None for everyone."""
        return next(reversed(self._stacks(who)[0].values()), 0)

    def next_redo(self, who: str | None) -> int:
        """Return the revision (an undo) that a redo takes back; 0 where none is left."""
        return next(reversed(self._stacks(who)[1].values()), 0)

    def _stacks(self, who: str | None) -> tuple[dict[int, int], dict[int, int]]:
        """Return what can be undone and redone: the last revision of each chain by its edit, in order."""
        undoable: dict[int, int] = {}
        redoable: dict[int, int] = {}
        for number, head in self._heads.items():
            edit = self._edit[number]
            undoable.pop(edit, None)
            redoable.pop(edit, None)
            if edit in self._set_apart or (who is not None and who not in (head.who, self._heads[edit].who)):
                continue
            if self.kind(number) == "edit":
                redoable.clear()
            (redoable if self.kind(number) == "undo" else undoable)[edit] = number
        return undoable, redoable
