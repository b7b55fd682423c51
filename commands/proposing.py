"""Tihais that are proposed: listing them, accepting and rejecting, and what was learnt from that."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import archive_option, json_option, login_or, open_archive, who_option
from commands.printing import bar_when_told, print_json, print_table

if TYPE_CHECKING:
    from annotate.proposals.deciding import Decision
    from annotate.proposals.learning import Figures, Learnt
    from annotate.proposals.proposed import Proposed

SHOWN = 20


@click.command()
@click.argument("recording")
@click.option("--top", type=click.IntRange(min=1), help=f"The likeliest N (default: {SHOWN}; with --json all).")
@click.option("--mukhra", type=click.IntRange(min=1), help="The matra on which the mukhra begins (default: as heard).")
@click.option("--anew", is_flag=True, help="Look everywhere again, also where nothing has changed.")
@click.option("--all", "decided_too", is_flag=True, help="Also those that are accepted, rejected or written down.")
@archive_option
@json_option
def propose(
    recording: str,
    top: int | None,
    mukhra: int | None,
    anew: bool,
    decided_too: bool,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Find the tihais of a recording and list them, the likeliest first.

    What is found is kept until a sam is moved or the recording is measured again; then only the sections that changed
    are looked at again. Which mukhra was told holds until --anew.
    """
    from annotate.proposals.proposing import mukhras
    from annotate.proposals.proposing import propose as found_in

    archive = open_archive(archive_path)
    every = found_in(archive, recording, anew=anew, mukhra=mukhra, tell=bar_when_told(f"Finding tihais in {recording}"))
    listed = every if decided_too else [each for each in every if each.status == "waiting"]
    if as_json:
        print_json([each.to_json() for each in listed[:top]])
        return
    _print_proposals(archive.state(recording).recording.title, recording, listed, top or SHOWN)
    _print_counts(recording, every)
    for section, matra in mukhras(archive, recording).items():
        if matra is not None:
            click.echo(f"The mukhra of '{section}' is taken to begin on matra {matra}; --mukhra names another.")


@click.command()
@click.argument("recording")
@click.argument("keys", metavar="KEY...", nargs=-1, required=True)
@who_option
@archive_option
@json_option
def accept(recording: str, keys: Sequence[str], who: str, archive_path: Path, as_json: bool) -> None:
    """Write proposals down as tihais, all of them in one edit.

    'layakosh undo' takes it back, and they are proposed again.
    """
    from annotate.proposals.deciding import accept_all

    _tell(recording, accept_all(open_archive(archive_path), recording, keys, login_or(who)), as_json)


@click.command()
@click.argument("recording")
@click.argument("keys", metavar="KEY...", nargs=-1, required=True)
@who_option
@archive_option
@json_option
def reject(recording: str, keys: Sequence[str], who: str, archive_path: Path, as_json: bool) -> None:
    """Reject proposals, so that they are not proposed again.

    'layakosh undo' takes it back.
    """
    from annotate.proposals.deciding import reject_all

    _tell(recording, reject_all(open_archive(archive_path), recording, keys, login_or(who)), as_json)


@click.command()
@click.option("--decisions", is_flag=True, help="List every decision that it was learnt from.")
@archive_option
@json_option
def learnt(decisions: bool, archive_path: Path, as_json: bool) -> None:
    """What was learnt from what people accepted and rejected.

    How much each thing counts, and how well decisions that were left out are told with it and without.
    """
    from annotate.proposals.learning import learnt_from

    found = learnt_from(open_archive(archive_path))
    if as_json:
        print_json(found.to_json())
        return
    click.echo(found.why)
    if found.figures is not None:
        _print_learnt(found, found.figures)
    if decisions:
        print_table(
            "Decisions",
            ["recording", "proposal", "tihai", "decision", "as heard"],
            [
                [each.recording, each.key, each.tihai, _decision(each.accepted), f"{each.confidence:.2f}"]
                for each in found.decided
            ],
        )


def _decision(accepted: bool) -> str:
    return "accepted" if accepted else "rejected"


def _print_proposals(title: str, recording: str, listed: Sequence[Proposed], top: int) -> None:
    """Of each where and how sure, the sum and who plays; the palla; the reason."""
    from theory.clock import format_clock
    from theory.numbers import spoken

    click.secho(f"\n{title}  ({recording})\n", bold=True)
    for each in listed[:top]:
        found = each.proposal
        times = f"{format_clock(found.start_s, 1)} to {format_clock(found.landing_s, 1)}"
        dam = f" and dam {spoken(found.dam)}" if found.dam else ""
        aim = f"matra {spoken(found.target)}" if found.aims_at == "matra" else found.aims_at
        what = f"{found.kind} of {spoken(found.palla)}{dam} from matra {spoken(found.start)} to {aim}"
        status = "" if each.status == "waiting" else f"  {each.status}: {each.tihai}"
        click.echo(f"  {each.key:<8} {times:>20}  {round(100 * each.ranked):>3} %  {what}, {_player(each)}{status}")
        click.echo(f"           {found.text}")
        click.echo(f"           {' '.join(filter(None, (found.reason, found.reading)))}")
    if len(listed) > top:
        click.echo(f"\n  and {len(listed) - top} less likely ones: --top {len(listed)}")


def _player(each: Proposed) -> str:
    return {"both": "lead and tabla"}.get(each.proposal.played_by, each.proposal.played_by)


def _print_counts(recording: str, every: Sequence[Proposed]) -> None:
    waiting, accepted, rejected = (
        sum(each.status == status for each in every) for status in ("waiting", "accepted", "rejected")
    )
    click.echo(f"\n{waiting} waiting, {accepted} accepted or written down before, {rejected} rejected.")
    if waiting:
        click.echo(f"Listen, then: layakosh accept {recording} KEY, or layakosh reject {recording} KEY")


def _tell(recording: str, done: Sequence[Decision], as_json: bool) -> None:
    if as_json:
        print_json([each.to_json() for each in done])
        return
    for each in done:
        words = {"confirmed": "accepted as tihai", "rejected": "rejected, kept as"}[each.tihai.status]
        click.echo(f"{recording}: {each.key} {words} {each.tihai.tihai}.")
    click.echo(f"To take it back: layakosh undo {recording}")


def _print_learnt(found: Learnt, figures: Figures) -> None:
    from annotate.proposals.learning import words_of

    click.echo(f"From {found.accepted} accepted and {found.rejected} rejected, leaving out {figures.left_out}:")
    print_table(
        "How decisions that were left out are told",
        ["", "as heard", "with what was learnt"],
        [
            ["pairs in the right order", f"{figures.order_finder:.1%}", f"{figures.order_learnt:.1%}"],
            ["mean surprise (0.69 for a coin)", f"{figures.loss_finder:.3f}", f"{figures.loss_learnt:.3f}"],
        ],
    )
    assert found.weights is not None
    print_table(
        f"What counts, beside what is heard (times {found.weights.of_finder:.2f})",
        ["weight", "", "of"],
        [
            [f"{abs(weight):.2f}", "for" if weight > 0 else "against", words]
            for words, weight in words_of(found.weights)
        ],
    )
