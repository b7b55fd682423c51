"""MusicXML, held against the published schema and read back by music21, which is not ours."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.exchange.errors import CannotExport
from annotate.exchange.midi_keys import sa_key
from annotate.exchange.musicxml_out import musicxml
from annotate.exchange.score import Score, Stretch, of_draft, of_phrase, of_theka, of_tihai
from annotate.exchange.staff_pitch import fifths_of, in_key, spelt
from annotate.exchange.tab import Hand
from annotate.grid import RecordingGrid
from annotate.records import PhraseRecord, TihaiRecord
from annotate.revisions import add
from annotate.transcription import Transcription
from ingest.draft import Draft, DraftNote
from layakosh import main
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.fretboard import Fretboard, parse_tuning
from theory.passage import Note, Passage
from theory.swaras import letters, semitones_of
from theory.talas import get_tala
from theory.tihai import LandingRule

MANDOLIN = Fretboard(parse_tuning("G,D,A,E"))


XML = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="http://www.w3.org/XML/1998/namespace">
<xs:attribute name="lang" type="xs:language"/><xs:attribute name="space" type="xs:NCName"/></xs:schema>"""
XLINK = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="http://www.w3.org/1999/xlink">
<xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:string"/>
<xs:attribute name="role" type="xs:token"/><xs:attribute name="title" type="xs:token"/>
<xs:attribute name="show" type="xs:string"/><xs:attribute name="actuate" type="xs:string"/></xs:schema>"""


@cache
def schema() -> Any:
    """The schema of MusicXML 4.0 (W3C Music Notation Community Group), as the package ``musicxml`` brings it.

    It imports two schemas by an address; their few attributes that it uses stand in, so that nothing is fetched.
    """
    etree = pytest.importorskip("lxml.etree")
    package = find_spec("musicxml")
    if package is None or package.origin is None:
        pytest.skip("needs the schema of MusicXML: pip install musicxml")
    brought = Path(package.origin).parent / "generate_classes"
    with TemporaryDirectory() as name:
        folder = Path(name)
        text = (brought / "musicxml_4_0.xsd").read_text("utf-8")
        (folder / "musicxml.xsd").write_text(re.sub(r'schemaLocation="[^"]*/', 'schemaLocation="', text), "utf-8")
        (folder / "xml.xsd").write_text(XML, "utf-8")
        (folder / "xlink.xsd").write_text(XLINK, "utf-8")
        return etree.XMLSchema(etree.parse(str(folder / "musicxml.xsd"), etree.XMLParser(no_network=True)))


def check_schema(text: str) -> None:
    schema().assertValid(pytest.importorskip("lxml.etree").fromstring(text.encode()))


def read_back(text: str) -> Any:
    return pytest.importorskip("music21.converter").parseData(text, format="musicxml")


def notes_of(part: Any) -> list[tuple[Any, Fraction, Fraction]]:
    """Every sounding note, ties joined: lyric, where it begins and how long it lasts, in matras."""
    found: list[tuple[Any, Fraction, Fraction]] = []
    for note in part.flatten().notes:
        start, length = Fraction(note.offset), Fraction(note.duration.quarterLength)
        if note.tie is not None and note.tie.type in ("stop", "continue"):
            lyric, begun, so_far = found[-1]
            assert begun + so_far == start
            found[-1] = (lyric, begun, so_far + length)
        else:
            found.append((note.lyric, start, length))
    return found


def wanted(score: Score) -> list[tuple[str, Fraction, Fraction]]:
    here, found = score.start - 1, []
    for each in score.stretches:
        found += [(note.symbol, here + note.onset, note.length) for note in each.passage.notes]
        here += each.passage.length
    return found


@pytest.fixture
def grid(archive: Archive) -> RecordingGrid:
    return archive.grid(SLUG)


TIHAIS = {
    "plain": tihai(),
    "off the beat": tihai(palla="S R:1/2 m P:1/2 nD PmG R", dam=Fraction(1, 2), start=Fraction(21, 2)),
    "without a dam": tihai(palla="SRG mPD nDPmG R -S", dam=Fraction(0)),
    "bols": tihai(palla="Dha TiRaKiTa Ta:1/2 Ka Dha:1/2", dam=Fraction(3, 2), start=Fraction(9)),
    "counted after": tihai(palla="S R G m", dam=Fraction(2), rule=LandingRule.AFTER),
}


def test_it_says_whose_it_is(grid: RecordingGrid) -> None:
    text = musicxml(of_tihai(tihai(), grid, "Evening"), "sitar", rights="Asha Rao; <all> rights & reserved")
    check_schema(text)
    assert read_back(text).metadata.copyright == "Asha Rao; <all> rights & reserved"


@pytest.mark.parametrize("record", TIHAIS.values(), ids=TIHAIS)
def test_a_tihai_written_out_keeps_every_place_and_length_exactly(record: TihaiRecord, grid: RecordingGrid) -> None:
    score = of_tihai(record, grid, "Evening")
    text = musicxml(score, "sitar")
    check_schema(text)
    (part,) = read_back(text).parts
    assert notes_of(part) == wanted(score)
    measures = list(part.getElementsByClass("Measure"))
    assert {Fraction(each.duration.quarterLength) for each in measures} == {Fraction(16)}
    metre = measures[0].timeSignature
    assert (metre.numerator, metre.denominator, len(metre.beatSequence)) == (16, 4, 4)
    assert [mark.number for mark in part.flatten().getElementsByClass("MetronomeMark")] == [120]


@pytest.mark.parametrize("name", ["plain", "off the beat", "without a dam", "bols"])
def test_the_landing_is_marked_where_the_arithmetic_says(name: str, grid: RecordingGrid) -> None:
    score = of_tihai(TIHAIS[name], grid, "Evening")
    assert score.lands is not None
    (part,) = read_back(musicxml(score, "sitar")).parts
    flat = part.flatten()
    place = score.start - 1 + score.lands
    accents = [Fraction(note.offset) for note in flat.notes if note.articulations]
    words = {each.content: Fraction(each.offset) for each in flat.getElementsByClass("TextExpression")}
    assert accents == [place] == [words["landing"]]
    assert words["palla 1"] == score.start - 1
    if name == "plain":
        assert place % 16 == 0  # on sam


def test_a_landing_that_follows_the_palla_is_marked_over_a_rest(grid: RecordingGrid) -> None:
    score = of_tihai(TIHAIS["counted after"], grid, "Evening")
    (part,) = read_back(musicxml(score, "sitar")).parts
    words = {each.content: Fraction(each.offset) for each in part.flatten().getElementsByClass("TextExpression")}
    assert words["landing"] == 16
    assert not [note for note in part.flatten().notes if note.articulations]


@pytest.mark.parametrize("name", ["plain", "off the beat", "without a dam", "bols", "counted after"])
def test_played_through_its_repeat_signs_a_tihai_is_the_same(name: str, grid: RecordingGrid) -> None:
    score = of_tihai(TIHAIS[name], grid, "Evening")
    text = musicxml(score, "sitar", repeats="signs")
    check_schema(text)
    (part,) = read_back(text).parts
    begin = score.start - 1
    played = [(lyric, begin + start, length) for lyric, start, length in notes_of(part.expandRepeats())]
    assert played == wanted(score)


def test_a_palla_whose_bar_has_no_metre_is_to_be_written_out(grid: RecordingGrid) -> None:
    score = of_tihai(tihai(palla="S R G:1/3"), grid, "Evening")
    with pytest.raises(CannotExport, match=r"2 1/3 matras has no metre.*--repeats written"):
        musicxml(score, "sitar", repeats="signs")
    (part,) = read_back(musicxml(score, "sitar")).parts
    assert notes_of(part) == wanted(score)


def test_the_theka_goes_round_in_its_tala_with_dead_strokes_crossed(grid: RecordingGrid) -> None:
    text = musicxml(of_theka(grid.sections[0]), "tabla")
    check_schema(text)
    (part,) = read_back(text).parts
    theka = get_tala("teental").theka
    assert [lyric for lyric, _, _ in notes_of(part)] == list(theka.symbols)
    assert len(notes_of(part.expandRepeats())) == 32
    words = [(each.content, each.offset) for each in part.flatten().getElementsByClass("TextExpression")]
    assert words == [("X", 0), ("2", 4), ("0", 8), ("3", 12)]
    crossed = read_back(musicxml(of_phrase(PhraseRecord("p", 20, 24, "Dha Ti Ka Na"), grid, "x"), "tabla")).parts[0]
    assert [note.notehead for note in crossed.flatten().notes] == ["normal", "x", "x", "normal"]


@pytest.mark.parametrize(("sa_string", "sa_fret"), [(2, 5), (3, 0), (1, 7)])
def test_tab_says_string_and_fret_of_every_note_alike_in_each_palla(
    grid: RecordingGrid, sa_string: int, sa_fret: int
) -> None:
    hand = Hand(MANDOLIN, MANDOLIN.pitch(sa_string, sa_fret))
    score = of_tihai(tihai(palla="S R:1/2 m P nD S' R' N -"), grid, "Evening")
    text = musicxml(score, "mandolin", hand=hand)
    check_schema(text)
    staff, tab = read_back(text).parts
    assert notes_of(staff) == wanted(score)
    places = []
    for above, below in zip(staff.flatten().notes, tab.flatten().notes, strict=True):
        technical = {type(each).__name__: each.number for each in below.articulations}
        string = 5 - technical["StringIndication"]  # MusicXML: 1 is the highest line, ours the last one written
        assert MANDOLIN.pitch(string, technical["FretIndication"]) == above.pitch.midi == below.pitch.midi
        if above.tie is None or above.tie.type == "start":
            places.append((string, technical["FretIndication"]))
    size = len(places) // 3
    assert places[:size] == places[size : 2 * size] == places[2 * size :]


def test_bends_beyond_the_last_fret_are_written(grid: RecordingGrid) -> None:
    short = Fretboard(parse_tuning("G3"), frets=7)
    hand = Hand(short, short.pitch(1, 5), bend=2)
    text = musicxml(of_phrase(PhraseRecord("p", 20, 21, "S R G"), grid, "x"), "sitar", hand=hand)
    check_schema(text)
    assert "<bend-alter>2</bend-alter>" in text


@pytest.mark.parametrize("sa", range(55, 67))
def test_every_swara_sounds_where_it_should_and_shuddha_swaras_need_no_accidental(sa: int) -> None:
    pitch_of = pytest.importorskip("music21.pitch").Pitch
    for letter in letters():
        for symbol in (letter, f"{letter}'", f".{letter}"):
            pitch = spelt(symbol, sa)
            read = pitch_of(pitch.step)
            read.octave = pitch.octave
            assert read.midi + pitch.alter == sa + semitones_of(symbol)
            if letter in "SRGmPDN":
                assert pitch.alter == in_key(pitch.step, fifths_of(sa))


def test_accidentals_hold_for_the_bar_and_are_written_once(grid: RecordingGrid) -> None:
    score = of_phrase(PhraseRecord("p", 18.0, 22.0, "S g R g G g"), grid, "x")
    text = musicxml(score, "sitar")
    signs = [each.pitch.accidental for each in read_back(text).parts[0].flatten().notes]
    assert [sign is not None and sign.displayStatus for sign in signs] == [False, True, False, False, True, True]
    assert text.count("<accidental>") == 3


divisions = st.sampled_from([(1, 2, 3, 4, 6), (1, 2, 4, 8, 16), (1, 3, 9), (1, 5), (1, 2, 7), (3, 4, 5)])
subdivided = divisions.flatmap(
    lambda parts: st.lists(
        st.tuples(st.sampled_from(["S", "R'", ".n", None]), st.integers(1, 9), st.sampled_from(parts)),
        min_size=1,
        max_size=8,
    )
)
starts = st.sampled_from([Fraction(1), Fraction(5, 2), Fraction(29, 3)])
talas = st.sampled_from(["teental", "jhaptal", "rupak"])


@given(subdivided, starts, talas)
@settings(max_examples=40)
def test_any_rhythm_comes_back_exactly(lengths: list[tuple[str | None, int, int]], start: Fraction, tala: str) -> None:
    here, notes = Fraction(0), []
    for symbol, top, bottom in lengths:
        if symbol is not None:
            notes.append(Note(symbol, here, Fraction(top, bottom)))
        here += Fraction(top, bottom)
    passage = Passage("sargam" if notes else "empty", tuple(notes), here)
    start = start if start < get_tala(tala).matras else Fraction(1)
    score = Score("any", get_tala(tala), start, (Stretch(passage, "any"),), 62.5)
    (part,) = read_back(musicxml(score, "sitar")).parts
    assert notes_of(part) == wanted(score)
    matras = get_tala(tala).matras
    assert all(each.duration.quarterLength == matras for each in part.getElementsByClass("Measure"))


def test_a_matra_of_more_parts_than_can_be_named_is_refused() -> None:
    passage = Passage("sargam", (Note("S", Fraction(0), Fraction(1, 500)),), Fraction(1))
    with pytest.raises(CannotExport, match=r"A matra has 500 parts .* at most 256 can be written"):
        musicxml(Score("any", get_tala("teental"), Fraction(1), (Stretch(passage),), None), "sitar")


def test_a_phrase_outside_any_tala_is_one_bar() -> None:
    score = of_phrase(PhraseRecord("p", 1.0, 3.0, "S R GmP"), RecordingGrid(()), "Alap")
    (part,) = read_back(musicxml(score, "sitar")).parts
    assert notes_of(part) == wanted(score)
    (measure,) = part.getElementsByClass("Measure")
    assert (measure.timeSignature.numerator, score.laya_mpm) == (3, 90.0)


def test_what_is_not_written_down_cannot_be_set_in_notes(grid: RecordingGrid) -> None:
    with pytest.raises(CannotExport, match="no palla is written down"):
        of_tihai(tihai(palla=""), grid, "x")
    with pytest.raises(CannotExport, match="no dam is written down"):
        of_tihai(tihai(dam=None), grid, "x")


def run(archive: Archive, *arguments: str) -> Any:
    return CliRunner().invoke(main, ["score", SLUG, *arguments, "--archive", str(archive.path)])


def test_the_command_writes_each_kind_of_page_and_says_what_is_lost(archive: Archive, tmp_path: Path) -> None:
    archive.commit(SLUG, [add(tihai()), add(phrase())], "test", "rows")
    asked = {
        "a": ["--tihai", "t01", "--tuning", "G,D,A,E", "--sa-string", "2", "--sa-fret", "5"],
        "b": ["--tihai", "t01", "--repeats", "signs", "--sa", "D4"],
        "c": ["--phrase", "p01"],
        "d": ["--theka", "--section", "gat"],
    }
    for name, arguments in asked.items():
        file = tmp_path / f"{name}.musicxml"
        result = run(archive, str(file), *arguments)
        assert result.exit_code == 0, result.output
        assert "This format does not hold: when it was played" in result.output
        check_schema(file.read_text("utf-8"))
    pitches = [note.pitch.nameWithOctave for note in read_back((tmp_path / "b.musicxml").read_text()).flatten().notes]
    assert pitches[:5] == ["D4", "E4", "F#4", "G4", "A4"]
    assert at(2, 1) == 18.0


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        ([], "one of --tihai, --phrase"),
        (["--tihai", "t09"], "has no tihai 't09'"),
        (["--phrase", "p09"], "has no phrase 'p09'"),
        (["--theka", "--section", "jor"], "Of which section is the theka meant"),
        (["--from", "3"], "both --from and --to"),
        (["--tihai", "t01", "--tuning", "G,D,A,E"], "Say where Sa is"),
        (["--tihai", "t01", "--string", "2"], "go with --tuning"),
        (["--tihai", "t01", "--tuning", "G3", "--sa", "C3"], "lies on none of the strings"),
        (["--theka", "--tuning", "G,D", "--sa", "C4"], "Bols have no place on the frets"),
        (["--phrase", "p01", "--repeats", "signs"], "Only a tihai is written with repeat signs"),
    ],
)
def test_what_cannot_be_written_is_said_and_no_file_is_made(
    archive: Archive, tmp_path: Path, arguments: list[str], complaint: str
) -> None:
    archive.commit(SLUG, [add(tihai()), add(phrase())], "test", "rows")
    file = tmp_path / "x.musicxml"
    result = run(archive, str(file), *arguments)
    assert result.exit_code == 2
    assert complaint in " ".join(result.output.split())
    assert not file.exists()


def test_a_draft_is_set_from_the_sa_it_was_heard_from() -> None:
    # what a draft says: three notes from matra 15, so that the third falls on sam
    notes = tuple(DraftNote(Note(each, Fraction(n), Fraction(1)), 1.0, "") for n, each in enumerate("SRG"))
    heard = Draft(notes, 3, (1, 1, 1))
    drafted = Transcription("gat", get_tala("teental"), 4, 15, (0.0, 0.5, 1.0, 1.5), heard, "desh", 293.66, ())
    score = of_draft(drafted, "Evening")
    (part,) = read_back(musicxml(score, "sitar", sa=sa_key(drafted.sa_hz)[0])).parts
    assert notes_of(part) == [("S", 14, 1), ("R", 15, 1), ("G", 16, 1)]
    assert [note.pitch.nameWithOctave for note in part.flatten().notes] == ["D4", "E4", "F#4"]
    assert score.laya_mpm == 120.0
