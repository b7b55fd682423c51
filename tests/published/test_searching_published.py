"""Searches and statistics on what others published: an expert's tihais, and the typical phrases of the ragas.

Sources: the published Puriya concert of tests/data/puriya_sitar_concert (see test_published_concert); the phrases of
``theory/data/ragas.toml``, each row with its source.
"""

from __future__ import annotations

import csv

import pytest

from annotate.archive import Archive
from annotate.records import PhraseRecord, Recording
from annotate.revisions import add
from annotate.search.phrases import PhraseSearch, find_phrases
from annotate.search.spans import parse_span
from annotate.search.tihais import TihaiSearch, find_tihais
from annotate.statistics.ngrams import ngram_usage
from annotate.tables_in import load
from tests.published.test_published_concert import DATA, tihai_rows
from theory.ragas import all_ragas


@pytest.fixture(scope="module")
def concert(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    folder = tmp_path_factory.mktemp("concert")
    with (folder / "tihais.csv").open("w", newline="") as out:
        writer = csv.DictWriter(out, ["start_s", "end_s", "label", "target"])
        writer.writeheader()
        writer.writerows(tihai_rows())
    archive = Archive.create(folder / "archive")
    tables = {"sections": DATA / "sections.csv", "sams": DATA / "sam.csv", "tihais": folder / "tihais.csv"}
    load(archive, "puriya", **tables, raga="Puriya")  # type: ignore[arg-type]
    return archive


def ends_s(archive: Archive, search: TihaiSearch) -> set[float]:
    return set(find_tihais(archive, search)["landing_s"])


def test_the_laya_of_a_tihai_tells_the_vilambit_from_the_drut(concert: Archive) -> None:
    """In the vilambit an avartan of 16 lasts 15 s and more, so 65 a minute; in the drut 3.5 s, at its end 1.5 s."""
    drut_s = next(each.start_s for each in concert.state("puriya").sections if each.section.startswith("Drut"))
    every = {float(row["end_s"]) for row in tihai_rows()}
    assert ends_s(concert, TihaiSearch(laya=parse_span("..100"))) == {end_s for end_s in every if end_s < drut_s}
    assert ends_s(concert, TihaiSearch(laya=parse_span("200.."))) == {end_s for end_s in every if end_s > drut_s}


def test_those_aimed_at_the_mukhra_and_those_that_land_are_found(concert: Archive) -> None:
    to_mukhra = {float(row["end_s"]) for row in tihai_rows() if row["target"] == "12"}
    assert to_mukhra
    assert ends_s(concert, TihaiSearch(target=parse_span("12"), raga="Pooriya")) == to_mukhra
    assert len(ends_s(concert, TihaiSearch(verdict="lands"))) == 7  # as test_published_concert has it one by one


@pytest.fixture(scope="module")
def typical(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """Every raga with its typical phrases, as the sources have them."""
    archive = Archive.create(tmp_path_factory.mktemp("ragas") / "archive")
    for raga in all_ragas():
        phrases = [
            PhraseRecord(f"p{number}", 4.0 * number, 4.0 * number + 3, text) for number, text in enumerate(raga.phrases)
        ]
        rows = [Recording(raga.key, raga.name, raga=raga.key), *phrases]
        archive.commit(raga.key, [add(row) for row in rows], "a", "")
    return archive


@pytest.mark.parametrize("length", [2, 3, 4])
def test_no_run_of_a_published_phrase_is_unusual_in_its_raga(typical: Archive, length: int) -> None:
    found = {
        (raga.key, row.item): row.why
        for raga in all_ragas()
        if raga.phrases
        for row in ngram_usage(typical, raga.key, length).query("unusual and count > 0").itertuples()
    }
    assert found == {}


def test_every_published_phrase_finds_itself_by_its_swaras_and_its_contour(typical: Archive) -> None:
    for raga in all_ragas():
        for number, text in enumerate(raga.phrases):
            bare = text.replace(",", " ")
            by_swaras = find_phrases(typical, PhraseSearch(swaras=bare, octaves=True, raga=raga.key))
            by_contour = find_phrases(typical, PhraseSearch(like=text, by="semitones"))
            assert f"p{number}" in set(by_swaras["phrase"]), (raga.key, text)
            assert raga.key in set(by_contour["recording"]), (raga.key, text)
