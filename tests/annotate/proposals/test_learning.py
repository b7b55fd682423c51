"""What decisions teach: from made ones, whose rule is known, and from those of an archive."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from annotate.archive import Archive
from annotate.history.taking_back import undo
from annotate.marking import record_tihai
from annotate.proposals import learning
from annotate.proposals.decided import Decided, decided_in
from annotate.proposals.deciding import accept, reject
from annotate.proposals.learning import FINDERS_SAY, FREE, LEAST_OF_EACH, STRENGTH, learn, weigh, words_of
from annotate.proposals.measured import SAID, log_odds, within_doubt
from annotate.proposals.proposing import propose, proposed
from tests.annotate.desk import MATRA_S, SLUG
from tests.annotate.proposals.gats import FIRST_LANDING_S, make_gats, measure

LOUDER = SAID.index("how much stronger the landing is struck")
FIRST = f"p{FIRST_LANDING_S:.1f}"
Rule = Callable[[float, np.ndarray, np.random.Generator], bool]


def decisions(count: int, rule: Rule, seed: int = 0, recordings: int = 4) -> tuple[Decided, ...]:
    """Decisions by a rule that goes by the finder's confidence, the measures, or chance."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(count):
        confidence, said = float(rng.uniform(0.05, 0.95)), rng.normal(size=len(SAID))
        recording = f"evening-{number % recordings}"
        made.append(
            Decided(recording, f"p{number}.0", f"t{number:02d}", rule(confidence, said, rng), confidence, tuple(said))
        )
    return tuple(made)


def by_the_finder(confidence: float, said: np.ndarray, rng: np.random.Generator) -> bool:
    return bool(rng.random() < confidence)


def by_loudness(confidence: float, said: np.ndarray, rng: np.random.Generator) -> bool:
    return bool(said[LOUDER] + 0.3 * rng.normal() > 0)


def against_the_finder(confidence: float, said: np.ndarray, rng: np.random.Generator) -> bool:
    return confidence < 0.5


def by_chance(confidence: float, said: np.ndarray, rng: np.random.Generator) -> bool:
    return bool(rng.random() < 0.5)


def test_with_few_decisions_nothing_is_learnt_and_it_is_said_how_many_it_takes() -> None:
    some = [each for each in decisions(200, by_loudness) if each.accepted][: 3 * LEAST_OF_EACH]
    others = [each for each in decisions(200, by_loudness) if not each.accepted][: LEAST_OF_EACH - 1]
    few = learn(tuple(some + others))
    assert (few.weights, few.figures, few.is_used) == (None, None, False)
    assert few.why.startswith(f"Not used yet: {3 * LEAST_OF_EACH} accepted and {LEAST_OF_EACH - 1} rejected")


@pytest.mark.parametrize("recordings", [1, 4, 30])
def test_what_people_go_by_is_found_and_orders_decisions_that_were_left_out(recordings: int) -> None:
    found = learn(decisions(60, by_loudness, recordings=recordings))
    assert found.figures is not None
    assert found.weights is not None
    assert found.is_used
    assert found.figures.order_learnt > 0.8 > 0.65 > found.figures.order_finder
    assert found.figures.loss_learnt < found.figures.loss_finder
    assert words_of(found.weights)[0][0] == SAID[LOUDER]
    assert words_of(found.weights)[0][1] > 0


def test_recordings_are_left_out_whole_where_there_are_several() -> None:
    def left_out(recordings: int) -> str:
        figures = learn(decisions(60, by_loudness, recordings=recordings)).figures
        assert figures is not None
        return figures.left_out

    assert left_out(1) == left_out(2) == "a fifth of the decisions at a time"
    assert left_out(4) == "one recording at a time"
    assert left_out(30) == "the recordings in 10 parts, one at a time"


def test_one_recordings_own_habit_does_not_pass_for_a_rule() -> None:
    """In each recording a measure of its own goes with what was accepted: of no use for the next one."""

    def made(seed: int) -> tuple[Decided, ...]:
        return tuple(
            each._replace(said=(*(0.0,) * number, 3.0 * (2 * each.accepted - 1), *(0.0,) * (len(SAID) - number - 1)))
            for each in decisions(80, by_the_finder, seed=seed, recordings=4)
            for number in [int(each.recording[-1])]
        )

    for seed in range(3):
        figures = learn(made(seed)).figures
        assert figures is not None
        assert figures.order_learnt <= figures.order_finder + 0.02


def test_decisions_that_agree_with_the_finder_leave_its_order_nearly_as_it_is() -> None:
    weights = weigh(decisions(300, by_the_finder))
    confidence = np.linspace(0.05, 0.95, 19)
    chances = weights.chance(confidence.tolist(), [tuple(weights.usual)] * 19)
    np.testing.assert_allclose(chances, confidence, atol=0.08)  # 300 decisions tell a share to about 0.06
    assert np.all(np.diff(chances) > 0)


def test_a_few_decisions_against_the_finder_do_not_turn_its_order_round() -> None:
    against = decisions(2 * LEAST_OF_EACH, against_the_finder)
    weights = weigh(against)
    low, high = weights.chance([0.1, 0.9], [tuple(weights.usual)] * 2)
    many = weigh(decisions(400, against_the_finder))
    assert high - low > -0.3
    assert np.subtract(*many.chance([0.9, 0.1], [tuple(many.usual)] * 2)) < -0.8


def test_what_was_decided_by_chance_is_used_only_where_it_does_no_harm() -> None:
    used = []
    for seed in range(8):
        found = learn(decisions(60, by_chance, seed))
        assert found.figures is not None
        assert found.is_used == found.figures.no_worse
        used.append(found.is_used)
        assert ("Used:" in found.why) == found.is_used
    assert not all(used)


def test_the_weights_are_those_of_the_penalised_likelihood_as_a_general_optimiser_finds_them() -> None:
    """Against `scipy.optimize`: the same sum, written out."""
    from scipy.optimize import minimize

    made = decisions(40, by_loudness, seed=3)
    weights = weigh(made)
    said = np.array([each.said for each in made])
    rows = (said - said.mean(axis=0)) / said.std(axis=0)
    odds = np.array([log_odds(each.confidence) for each in made])
    heard = np.array([within_doubt(each.confidence) for each in made])
    labels = np.array([each.accepted for each in made], float)
    say = FINDERS_SAY / len(made)

    def cost(values: np.ndarray) -> float:
        told = values[0] + values[1] * FREE * odds + rows @ values[2:]
        yes, no = np.logaddexp(0, -told), np.logaddexp(0, told)
        decided = labels * yes + (1 - labels) * no
        by_finder = heard * yes + (1 - heard) * no
        return float(np.sum(decided + say * by_finder) + np.sum(values[1:] ** 2) / (2 * STRENGTH))

    best = minimize(cost, np.zeros(2 + len(SAID)), method="BFGS", options={"gtol": 1e-7})
    # sklearn stops at a gradient of 1e-6 of the mean; both lie that near the one minimum of a convex sum
    np.testing.assert_allclose(weights.weight, best.x[2:], atol=2e-3)
    np.testing.assert_allclose(weights.of_finder, best.x[1] * FREE, atol=2e-3)
    np.testing.assert_allclose(weights.constant, best.x[0], atol=2e-3)


def test_the_same_decisions_teach_the_same() -> None:
    made = decisions(60, by_loudness)
    learn.cache_clear()
    first = learn(made)
    learn.cache_clear()
    assert learn(made).to_json() == first.to_json()


@pytest.fixture
def taught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Archive]:
    """Three recordings, the tihais of each accepted and three others rejected; five of each are enough here."""
    monkeypatch.setattr(learning, "LEAST_OF_EACH", 5)
    learn.cache_clear()
    archive = Archive.create(tmp_path / "archive")
    for seed, slug in enumerate(("first", "second", "third")):
        make_gats(archive, slug, seed=seed)
        true = 0
        for each in propose(archive, slug)[:5]:
            is_tihai = each.proposal.text == "DhaNa KatTin Dhin"
            (accept if is_tihai else reject)(archive, slug, each.key, "meera")
            true += is_tihai
        assert true == 2
    yield archive
    learn.cache_clear()


def test_decisions_of_the_archive_rank_what_is_proposed_elsewhere(taught: Archive) -> None:
    found = learning.learnt_from(taught)
    assert (found.accepted, found.rejected) == (6, 9)
    assert found.is_used
    assert found.figures is not None
    assert found.figures.order_learnt >= found.figures.order_finder
    make_gats(taught, "fourth", seed=3)
    ranked = propose(taught, "fourth")
    assert [each.proposal.text for each in ranked[:2]] == ["DhaNa KatTin Dhin"] * 2
    assert [each.ranked for each in ranked] != [each.proposal.confidence for each in ranked]
    assert [each.ranked for each in ranked] == sorted((each.ranked for each in ranked), reverse=True)


def test_a_first_use_is_ranked_by_what_is_heard(archive: Archive) -> None:
    found = propose(archive, SLUG)
    assert [each.ranked for each in found] == [each.proposal.confidence for each in found]


def test_what_was_decided_teaches_on_when_it_is_no_longer_found_and_no_more_once_it_is_undone(archive: Archive) -> None:
    accept(archive, SLUG, FIRST, "meera")
    (before,) = decided_in(archive)
    measure(archive, SLUG, (), seed=7)
    again = Archive.open(archive.path)
    for _ in range(2):
        (one,) = [each for each in propose(again, SLUG, anew=True) if each.status == "accepted"]
        assert (one.key, one.found.still) == (FIRST, False)
        assert decided_in(again) == (before,)
    undo(again, SLUG, "meera")
    assert decided_in(again) == ()
    assert FIRST not in {each.key for each in proposed(again, SLUG) or []}


def test_a_tihai_that_was_marked_by_hand_teaches_where_its_pallas_are_those_found(archive: Archive) -> None:
    begin_s = FIRST_LANDING_S - 8 * MATRA_S
    for spacing_s, teaches in ((3 * MATRA_S, 1), (2.5 * MATRA_S, 0)):
        starts_s = [begin_s + palla * spacing_s for palla in range(3)]
        record = record_tihai(archive, SLUG, palla_s=starts_s, landing_s=FIRST_LANDING_S, who="bela")
        assert len(decided_in(archive)) == teaches
        archive.withdraw(SLUG, "tihais", record.tihai, who="bela")


def test_what_an_earlier_finder_did_not_measure_is_left_out(archive: Archive) -> None:
    from annotate.proposals import kept as store

    accept(archive, SLUG, FIRST, "meera")
    folder = archive.evidence_folder(SLUG)
    kept = store.load(folder)
    assert kept is not None
    assert len(decided_in(archive)) == 1
    renamed = tuple("as it was called" if name == "louder" else name for name in kept.names)
    store.save(folder, replace(kept, names=renamed))
    assert decided_in(archive) == ()
