"""Learnt: what people's decisions on proposals taught, how proposals are ranked by it, and how well that is known."""

from __future__ import annotations

from urllib.parse import quote

from dash import dcc, html

from annotate.proposals.learning import Figures, Learnt, Weights, learnt_from, words_of
from dashboard.library import Library
from dashboard.pages.page import Page
from dashboard.parts import Column, Part, empty, table
from dashboard.proposals.shown import address

MOST_LISTED = 200


def page(library: Library) -> Page:
    """Show what was learnt from the decisions of the whole archive."""
    learnt = learnt_from(library.archive)
    content: list[Part] = [
        html.H1("What was learnt"),
        html.P(
            "Each proposal that is accepted or rejected teaches what counts here, and ranks those that wait. "
            "It is a weighing of a few plain measures, and nothing is hidden in it.",
            className="lede",
        ),
        html.P(learnt.why),
    ]
    if learnt.figures is not None and learnt.weights is not None:
        content += [*_figures(learnt, learnt.figures), *_weights(learnt.weights)]
    content += _decisions(library, learnt)
    return Page("What was learnt", content, "Tihais")


def _figures(learnt: Learnt, figures: Figures) -> list[Part]:
    rows = [
        ["Pairs of one accepted and one rejected that stand in the right order",
         f"{figures.order_finder:.0%}", f"{figures.order_learnt:.0%}"],
        ["Mean surprise at a decision (0.69 for a coin; less is better)",
         f"{figures.loss_finder:.2f}", f"{figures.loss_learnt:.2f}"],
    ]  # fmt: skip
    caption = (
        f"{learnt.accepted} accepted and {learnt.rejected} rejected; each told by what the others teach, leaving out "
        f"{figures.left_out}"
    )
    columns = (
        Column("Decisions that were left out"),
        Column("As heard", number=True),
        Column("As learnt", number=True),
    )
    return [html.H2("How well it tells"), table(caption, columns, rows)]


def _weights(weights: Weights) -> list[Part]:
    rows = [
        [words, "for it" if weight > 0 else "against it", f"{abs(weight):.2f}"] for words, weight in words_of(weights)
    ]
    columns = (Column("Measure"), Column("Speaks"), Column("Weight", number=True))
    caption = f"Beside what is heard, which counts {weights.of_finder:.2f} times; by a usual difference of each measure"
    return [html.H2("What counts"), table(caption, columns, rows)]


def _decisions(library: Library, learnt: Learnt) -> list[Part]:
    if not learnt.decided:
        return [
            empty(
                "Nothing is decided yet",
                html.P(
                    [
                        "Open a performance under ",
                        dcc.Link("Concerts", href="/"),
                        ", look for its tihais, and accept or reject what is proposed.",
                    ]
                ),
            )
        ]
    shown = learnt.decided[:MOST_LISTED]
    known = library.archive.index("recordings", ["recording", "title"], {each.recording for each in shown})
    titles = dict(zip(known["recording"], known["title"], strict=True))
    rows = [
        [
            dcc.Link(each.tihai, href=f"/tihais/{quote(each.recording)}/{quote(each.tihai)}"),
            dcc.Link(titles.get(each.recording) or each.recording, href=address(each.recording)),
            "accepted" if each.accepted else "rejected",
            f"{each.confidence:.0%}",
        ]
        for each in shown
    ]
    count = len(learnt.decided)
    more = f"; the first {MOST_LISTED} are listed" if count > MOST_LISTED else ""
    caption = f"{count} decision{'' if count == 1 else 's'}{more}"
    columns = (Column("Tihai"), Column("Performance"), Column("Decision"), Column("As heard", number=True))
    return [html.H2("From what"), table(caption, columns, rows)]
