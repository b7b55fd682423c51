"""CSV from elsewhere: all of it in one revision or nothing; complaints name file, row and column."""

from __future__ import annotations

import contextlib
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.csv_read import read_rows
from annotate.errors import BadTable
from annotate.labels import kind_in, tala_in
from annotate.records import MarkedSam, Section
from annotate.revisions import add, change
from annotate.tables_in import load
from tests.annotate.desk import SLUG, fingerprint
from theory.tihai import LandingRule

SECTIONS = "start_s,end_s,label\n0,10,Alap\n10,90.5,Vilambit teental (16 beats)\n"
SAMS = "section,cycle,sam_s\nvilambit,1,10\nvilambit,2,18\nvilambit,3,26\n"
TIHAIS = (
    "tihai,start_s,second_s,third_s,landing_s,palla,dam,start,rule,target,played_by,label,kind\n"
    't01,18,21,24,26.02,S R G m P,1,1,within,1,sitar,"five, three times",damdar\n'
    ",20,,,0:26,,,,,,,an interval,\n"
)
PHRASES = "phrase,start_s,end_s,swaras,role\np07,11,12,.N R G,mukhra\n,13,14,R G,\n"


def write(folder: Path, **contents: str) -> dict[str, Path]:
    paths = {}
    for name, content in contents.items():
        paths[name] = folder / f"{name}.csv"
        paths[name].write_text(content, "utf-8")
    return paths


@pytest.fixture
def everything(tmp_path: Path) -> dict[str, Path]:
    return write(tmp_path, sections=SECTIONS, sams=SAMS, tihais=TIHAIS, phrases=PHRASES)


def test_a_recording_without_sound_is_made_from_tables_in_one_revision(
    archive: Archive, everything: dict[str, Path]
) -> None:
    slug = load(archive, "Puriya Morning", raga="Puriya", title="Puriya", who="asha", **everything)  # type: ignore[arg-type]
    state = archive.state(slug)
    assert (slug, state.revision) == ("puriya-morning", 1)
    assert (state.recording.title, state.recording.raga, state.recording.tala) == ("Puriya", "puriya", "teental")
    assert state.sections == (
        Section("Alap", "alap", 0, 10),
        Section("Vilambit teental (16 beats)", "gat", 10, 90.5, "teental"),
    )
    assert state.marked_sams[1] == MarkedSam("s02", "Vilambit teental (16 beats)", 18, 2)
    first, second = state.tihais
    assert (first.tihai, first.palla_s, first.dam, first.rule) == ("t01", (18, 21, 24), Fraction(1), LandingRule.WITHIN)
    assert (first.kind, first.label, first.who) == ("damdar", "five, three times", "asha")
    assert (second.tihai, second.palla_s, second.landing_s, second.tala) == ("t02", (20,), 26, "teental")
    assert [each.phrase for each in state.phrases] == ["p07", "p01"]


def test_loading_the_same_again_changes_nothing(archive: Archive, everything: dict[str, Path]) -> None:
    load(archive, "puriya", **everything)  # type: ignore[arg-type]
    before = fingerprint(archive)
    load(archive, "puriya", who="somebody else", **everything)  # type: ignore[arg-type]
    assert fingerprint(archive) == before


def test_a_row_with_the_key_of_one_that_exists_corrects_it(archive: Archive, everything: dict[str, Path]) -> None:
    load(archive, "puriya", **everything)  # type: ignore[arg-type]
    everything["tihais"].write_text(TIHAIS.replace("26.02", "26.05"))
    load(archive, "puriya", tihais=everything["tihais"])
    state = archive.state("puriya")
    assert state.revision == 2
    assert state.tihai("t01").landing_s == 26.05
    assert len(state.tihais) == 2
    assert len(archive.history("puriya")[-1].edits) == 1


def test_sams_go_to_their_section_by_name_or_by_time(archive: Archive, tmp_path: Path) -> None:
    files = write(tmp_path, sams="sam_s\n30\n38.5\n", named="sam_s,section\n46.5,GAT\n")
    load(archive, SLUG, sams=files["sams"])
    load(archive, SLUG, sams=files["named"])
    assert {mark.section for mark in archive.state(SLUG).marked_sams} == {"gat"}
    assert len(archive.state(SLUG).marked_sams) == 14


def test_a_sam_near_a_marked_one_moves_it_and_is_no_second_sam(archive: Archive, tmp_path: Path) -> None:
    load(archive, SLUG, sams=write(tmp_path, sams="sam_s\n18.05\n26\n")["sams"])
    assert [mark.sam_s for mark in archive.state(SLUG).marked_sams][:3] == [10.0, 18.05, 26.0]
    assert len(archive.history(SLUG)[-1].edits) == 1


def test_a_persons_sections_replace_those_that_ingest_proposed(archive: Archive, tmp_path: Path) -> None:
    proposed = [Section("gat", "gat", 10, 90, "teental", "ingest"), Section("alap", "alap", 0, 10, "", "ingest")]
    archive.commit(
        SLUG, [change(each) for each in proposed] + [add(Section("extra", "alap", 90, 99, "", "ingest"))], "a", ""
    )
    load(archive, SLUG, sections=write(tmp_path, s="start_s,end_s,section,tala\n9,95,drut,tintal\n")["s"])
    state = archive.state(SLUG)
    assert state.sections == (Section("drut", "gat", 9, 95, "teental"),)
    assert {mark.section for mark in state.marked_sams} == {"drut"}


def test_a_section_that_ingest_proposed_and_the_file_repeats_is_there_already(archive: Archive, tmp_path: Path) -> None:
    archive.commit(SLUG, [change(Section("gat", "gat", 10, 90, "teental", "ingest"))], "a", "")
    before = fingerprint(archive)
    text = "start_s,end_s,section,kind,tala\n10,90,gat,gat,teental\n"
    load(archive, SLUG, sections=write(tmp_path, s=text)["s"])
    assert fingerprint(archive) == before


def test_what_is_not_written_on_paper_is_read_from_the_sams_of_the_same_load(archive: Archive, tmp_path: Path) -> None:
    tihais = "start_s,second_s,third_s,landing_s,palla\n18,21,24,26,S R G m P\n"
    files = write(tmp_path, sections=SECTIONS, sams=SAMS, tihais=tihais)
    load(archive, "puriya", **files)  # type: ignore[arg-type]
    (record,) = archive.state("puriya").tihais
    assert (record.start, record.dam) == (1, 1)


@pytest.mark.parametrize(
    ("table", "content", "place"),
    [
        (
            "sams",
            "section,cycle\ngat,1\n",
            "row 1, column sam_s: The column 'sam_s' or 'matra_s' is missing; the header has section, cycle",
        ),
        ("sams", "section;sam_s\ngat;1\n", "Cells are separated by commas"),
        ("sams", "sam_s\n30\nabc\n", "row 3, column sam_s: 'abc' is not a time"),
        ("sams", "sam_s\n30\n20\n", "row 3, column sam_s: Sam marks are out of order: 20 stands after 30"),
        ("sams", "sam_s,cycle\n30,3\n40,2\n", "row 3, column cycle: Cycle 2 stands after cycle 3"),
        ("sams", "sam_s,cycle\n30,1.5\n", "row 2, column cycle: '1.5' is not a whole number"),
        ("sams", "sam_s\n5\n", "row 2, column sam_s: The sam mark 0:05 falls in 'alap'"),
        ("sams", "sam_s,section\n5,gat\n", "row 2, column sam_s: 5 s lies outside 'gat'"),
        ("sams", "sam_s,section\n5,alap\n", "row 2, column section: 'alap' has no tala"),
        ("sams", "sam_s,sam_s\n1,2\n", "row 1, column sam_s: The column stands there twice"),
        ("sams", "sam_s\n30\n30.1\n", "row 3, column sam_s: The sams 30 and 30.1 are 100 ms apart"),
        ("sams", "sam_s\n1,2,3\n", "row 2: 3 cells under 1 columns"),
        ("sams", "", "row 1, column sam_s: The column 'sam_s' or 'matra_s' is missing; the header has nothing"),
        ("sams", 'sam_s\n"30\n', "row 2: The row is not CSV"),
        ("sections", "start_s,end_s,section\n20,10,x\n", "row 2, column end_s: The section ends before it starts"),
        (
            "sections",
            "start_s,end_s,section,tala\n0,10,x,tinpal\n",
            "row 2, column tala: No tala is called 'tinpal'.*Teental",
        ),
        ("sections", "start_s,end_s,section\n0,1,x\n1,2,x\n", "row 3, column section: A second section is called 'x'"),
        ("sections", "start_s,end_s\n0,1\n", "The column 'section' or 'label' is missing"),
        (
            "tihais",
            "start_s,landing_s\n20,\n",
            "row 2, column landing_s: Expected a time in seconds; the cell is empty",
        ),
        ("tihais", "start_s,end_s\n20,19\n", "row 2, column landing_s: The landing at 0:19 comes before the start"),
        (
            "tihais",
            "start_s,second_s,third_s,landing_s\n20,22,24,23\n",
            "row 2, .*The landing at 0:23 comes before the third",
        ),
        (
            "tihais",
            "start_s,second_s,third_s,landing_s\n20,,24,26\n",
            "row 2, column second_s: Expected the starts of all three",
        ),
        ("tihais", "start_s,end_s,dam\n20,26,half\n", "row 2, column dam: 'half' is not a count of matras"),
        ("tihais", "start_s,end_s,rule\n20,26,inside\n", "row 2, column rule: 'inside' is not a landing rule"),
        ("tihais", "start_s,end_s,status\n20,26,maybe\n", "row 2, column status: 'maybe' is not a status"),
        ("tihais", "start_s,end_s,tala\n20,26,foo\n", "row 2, column tala: No tala"),
        (
            "tihais",
            "tihai,start_s,end_s\nt1,20,26\nt2,20,26\nt1,30,36\n",
            "row 4, column tihai: 't1' stands in row 2 too",
        ),
        ("tihais", "tihai,start_s,end_s\nt999999999,20,26\n", "row 2, column tihai: 't999999999' counts too far"),
        ("tihais", "start_s,end_s\n20,2600\n", "row 2, .*after the end"),
        ("phrases", "start_s,end_s,swaras\n20,19,S\n", "row 2, column end_s: The phrase ends at 0:19"),
        ("phrases", "start_s,end_s,swaras\n20,21,\n", "row 2, column swaras: Expected the phrase's swaras"),
    ],
)
def test_bad_tables_are_refused_with_file_row_and_column_and_nothing_is_written(
    archive: Archive, tmp_path: Path, table: str, content: str, place: str
) -> None:
    good = "start_s,end_s,swaras\n20,21,S\n"
    files = {"phrases": write(tmp_path, good=good)["good"], **write(tmp_path, **{table: content})}
    before = fingerprint(archive)
    with pytest.raises(BadTable, match=rf"(?s)^{table}\.csv.*{place}"):
        load(archive, SLUG, **files)  # type: ignore[arg-type]
    assert fingerprint(archive) == before


def test_a_palla_that_does_not_parse_is_told_with_its_place_and_a_caret(archive: Archive, tmp_path: Path) -> None:
    files = write(tmp_path, tihais="start_s,end_s,palla\n20,26,S R Q\n")
    before = fingerprint(archive)
    with pytest.raises(BadTable, match=r"^tihais\.csv, row 2, column palla: ") as caught:
        load(archive, SLUG, **files)  # type: ignore[arg-type]
    *_, text, caret = str(caught.value).splitlines()
    assert text[caret.index("^")] == "Q"
    assert fingerprint(archive) == before


def test_a_bad_table_makes_no_recording(archive: Archive, tmp_path: Path) -> None:
    with pytest.raises(BadTable):
        load(archive, "new", **write(tmp_path, sections=SECTIONS, sams="sam_s\nx\n"))  # type: ignore[arg-type]
    assert archive.slugs() == [SLUG]


def test_a_file_that_is_not_utf8_or_not_there_is_named(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes("sam_s\né\n".encode("latin-1"))
    with pytest.raises(BadTable, match=r"a\.csv: The file is not UTF-8"):
        read_rows(tmp_path / "a.csv", [])
    with pytest.raises(BadTable, match=r"b\.csv: The file cannot be opened"):
        read_rows(tmp_path / "b.csv", [])


def test_a_byte_order_mark_blank_lines_and_columns_in_any_case_and_order_do_no_harm(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes("\ufeffSwaras, END_S ,start_s,other\r\n\r\nS R,2, 1 ,x\r\n,,,\r\n".encode())
    (row,) = read_rows(tmp_path / "a.csv", [["start_s"], ["end_s"]])
    assert (row.number, row.time_s("start_s"), row.text("swaras")) == (3, 1.0, "S R")


@given(content=st.text(st.characters(exclude_categories=["Cs"]), max_size=200))
def test_whatever_stands_in_a_file_is_read_or_refused_in_words(
    tmp_path_factory: pytest.TempPathFactory, content: str
) -> None:
    path = tmp_path_factory.mktemp("csv") / "any.csv"
    path.write_bytes(content.encode())
    with contextlib.suppress(BadTable):
        read_rows(path, [["sam_s"]])


@pytest.mark.parametrize(
    ("label", "tala", "kind"),
    [
        ("Vilambit teental (16 beats)", "teental", "gat"),
        ("Drut gat in jhap tal", "jhaptal", "gat"),
        ("Tabla solo, rupak", "rupak", "tabla solo"),
        ("Alap", "", "alap"),
        ("Jor", "", "jor"),
        ("Tuning, conversation with tabla player", "", "tuning"),
        ("Ektaal", "ektal", "gat"),
        ("Applause", "", "applause"),
    ],
)
def test_a_label_tells_tala_and_kind(label: str, tala: str, kind: str) -> None:
    assert tala_in(label) == tala
    assert kind_in(label, tala) == kind
