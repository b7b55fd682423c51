"""What is in a pack, held against its listing, its notation's arithmetic, and readers that are not ours."""

from __future__ import annotations

import hashlib
import io
import json
import re
from collections.abc import Iterator
from fractions import Fraction
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from annotate.archive import Archive
from annotate.exchange.midi_keys import sa_key
from annotate.exchange.score import Score
from annotate.exchange.timeline import TICKS
from annotate.practice.packs.making import Made
from annotate.practice.packs.notation import score_of
from annotate.practice.packs.page import DELAY_S
from annotate.practice.pieces import Piece
from theory.swaras import semitones_of

ADDRESS = re.compile(r"https?://|//[a-z]|@import|url\((?!data:|['\"]?data:)")


class Addresses(HTMLParser):
    """Every address that a page asks for or leads to."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002
        self.found += [
            value or "" for name, value in attrs if name in ("src", "href", "srcset", "poster", "data", "action")
        ]


def told(place: Path) -> dict[str, Any]:
    listing: dict[str, Any] = json.loads((place / "pack.json").read_text("utf-8"))
    return listing


def all_files(place: Path) -> Iterator[str]:
    return (path.relative_to(place).as_posix() for path in place.rglob("*") if path.is_file())


def test_the_listing_names_every_file_with_its_length_and_digest(place: Path) -> None:
    listing = told(place)
    assert {*listing["files"], "pack.json"} == set(all_files(place))
    for name, known in listing["files"].items():
        content = (place / name).read_bytes()
        assert (len(content), hashlib.sha256(content).hexdigest()) == (known["bytes"], known["sha256"]), name


def test_every_file_that_a_piece_names_is_there_and_the_page_leads_to_it(place: Path) -> None:
    listing, page = told(place), Addresses((place / "index.html").read_text("utf-8")).found
    names = [listing["sheet"], listing["sheet_pdf"]]
    for piece in listing["pieces"]:
        names += [piece["musicxml"], piece["midi"], piece["sheet"], piece["sheet_pdf"]]
        names += [sound["file"] for sound in piece["sounds"]]
        assert all(sound["script"] in listing["files"] for sound in piece["sounds"])
    assert len(names) == 2 + 2 * 4 + 2 * 3
    for name in names:
        assert name in listing["files"]
        assert name in page


def test_no_page_asks_any_address_of_the_net_and_all_lead_to_files_of_the_pack(place: Path) -> None:
    pages = [place / name for name in all_files(place) if name.endswith(".html")]
    assert len(pages) == 4
    for path in pages:
        for address in Addresses(path.read_text("utf-8")).found:
            if not address.startswith(("#", "data:")):
                assert ":" not in address, address
                assert (path.parent / address).is_file(), address
    for name in all_files(place):
        if name.endswith((".js", ".css")) and not name.startswith("sounds/"):
            assert not ADDRESS.search((place / name).read_text("utf-8").replace("://www.w3.org/", "")), name


def test_names_of_files_survive_any_file_system(place: Path) -> None:
    for name in all_files(place):
        assert re.fullmatch(r"[a-z0-9-]+(/[a-z0-9-]+)*\.[a-z0-9]+", name), name


def test_the_script_beside_a_sound_holds_the_same_bytes(place: Path) -> None:
    import base64

    for piece in told(place)["pieces"]:
        for sound in piece["sounds"]:
            key, text = re.fullmatch(
                r'soundArrived\("([a-z0-9-]+)", "([A-Za-z0-9+/=]+)"\);\n', (place / sound["script"]).read_text("utf-8")
            ).groups()  # type: ignore[union-attr]
            assert key == Path(sound["file"]).stem
            assert base64.b64decode(text) == (place / sound["file"]).read_bytes()


def test_parts_lie_within_their_sound_and_are_as_long_as_the_notation_says(made: Made) -> None:
    # matras of half a second as played, the tihai 5 + 5 + 5 from sam, an avartan of 7
    for packed in made.pack.pieces[:1]:
        for sound in packed.sounds:
            slower = 2 if sound.words == "50 %" else 1
            parts = {part.words: part for part in sound.parts}
            assert list(parts) == ["whole", "palla 1", "palla 2", "palla 3", "landing avartan"]
            for part in sound.parts:
                assert 0 <= part.begin_s < part.end_s <= sound.duration_s
            lengths_s = [parts[f"palla {number}"].end_s - parts[f"palla {number}"].begin_s for number in (1, 2, 3)]
            assert lengths_s == pytest.approx([2.5 * slower] * 3, abs=1e-3)
            whole_s = parts["whole"].end_s - parts["whole"].begin_s
            assert whole_s / (0.5 * slower) / 7 == pytest.approx(round(whole_s / (0.5 * slower) / 7), abs=1e-3)


def test_known_places_of_a_sound_stand_where_its_parts_begin(made: Made) -> None:
    for packed in made.pack.pieces[:1]:
        for sound in packed.sounds:
            places = dict(sound.places)
            begins = {part.words: part.begin_s for part in sound.parts}
            assert list(places) == [0, 5, 10, 14]
            assert [places[Fraction(at)] for at in (0, 5, 10, 14)] == [
                begins[words] for words in ("palla 1", "palla 2", "palla 3", "landing avartan")
            ]


def test_a_phrase_is_placed_by_the_sams_around_it(made: Made) -> None:
    phrase = made.pack.pieces[1]
    for sound in phrase.sounds:
        (first, begin_s), (last, end_s) = sound.places
        matra_s = 1.0 if sound.words == "50 %" else 0.5
        assert first == 0
        assert float(last - first) == pytest.approx((end_s - begin_s) / matra_s, abs=1e-2)


def test_a_decoder_that_keeps_the_silence_before_an_mp3_is_told_by_its_length(place: Path) -> None:
    # libav leaves that silence out by the file's own header, and says how long it is
    av = pytest.importorskip("av")
    sound = told(place)["pieces"][0]["sounds"][0]
    with av.open(str(place / sound["file"])) as opened:
        stream = opened.streams.audio[0]
        assert float(stream.start_time * stream.time_base) == pytest.approx(DELAY_S, abs=2e-3)


def notes_of(part: Any) -> list[tuple[int, Fraction, Fraction]]:
    """What music21 reads: key, onset and length in quarters, ties joined."""
    found: list[tuple[int, Fraction, Fraction]] = []
    for note in part.flatten().notes:
        start, length = Fraction(note.offset), Fraction(note.duration.quarterLength)
        if note.tie is not None and note.tie.type in ("stop", "continue"):
            key, begun, so_far = found[-1]
            found[-1] = (key, begun, so_far + length)
        else:
            found.append((note.pitch.midi, start, length))
    return found


def wanted(score: Score, sa: int) -> list[tuple[int, Fraction, Fraction]]:
    here, found = score.start - 1, list[tuple[int, Fraction, Fraction]]()
    for each in score.stretches:
        found += [(sa + semitones_of(note.symbol), here + note.onset, note.length) for note in each.passage.notes]
        here += each.passage.length
    return found


def test_musicxml_and_midi_say_what_the_notation_says_to_readers_that_are_not_ours(
    concert: Archive, chosen: tuple[Piece, ...], place: Path
) -> None:
    music21 = pytest.importorskip("music21.converter")
    pretty_midi = pytest.importorskip("pretty_midi")
    for piece, listed in zip(chosen, told(place)["pieces"], strict=True):
        score, (sa, _) = score_of(concert, piece), sa_key(piece.sa_hz)
        (part,) = music21.parse(str(place / listed["musicxml"])).parts
        assert notes_of(part) == wanted(score, sa)
        file = pretty_midi.PrettyMIDI(io.BytesIO((place / listed["midi"]).read_bytes()))
        (melody,) = (each for each in file.instruments if each.name == "mandolin")
        ticks = [(note.pitch, file.time_to_tick(note.start), file.time_to_tick(note.end)) for note in melody.notes]
        assert [(key, Fraction(on, TICKS), Fraction(off - on, TICKS)) for key, on, off in ticks] == wanted(score, sa)


def test_everything_says_whose_performance_it_is_and_what_is_allowed(place: Path) -> None:
    import av

    listing = told(place)
    (performance,) = listing["performances"]
    assert performance == {
        "recording": "trial-in-rupak",
        "title": "Trial in rupak",
        "musicians": [{"role": "mandolin", "name": "Nirvani Tolasar"}, {"role": "tabla", "name": "Obeyan Rukhdal"}],
        "performed_on": "7 March 2026",
        "venue": "an invented hall",
    }
    assert listing["licence"]["key"] == "CC-BY-NC-4.0"
    allowed = "Creative Commons Attribution-NonCommercial 4.0"
    texts = [place / "index.html", *(place / piece["musicxml"] for piece in listing["pieces"])]
    for path in place.glob("sheets/*.html"):
        sheet = path.read_text("utf-8")
        assert "Nirvani Tolasar (mandolin), Obeyan Rukhdal (tabla), 7 March 2026, an invented hall" in sheet
        assert allowed in sheet
    for path in [*texts, *(place / piece["midi"] for piece in listing["pieces"])]:
        content = path.read_bytes()
        for words in ("Nirvani Tolasar", "Obeyan Rukhdal", "Trial in rupak", "an invented hall", allowed):
            assert words.encode() in content, (path.name, words)
    for piece in listing["pieces"]:
        for sound in piece["sounds"]:
            with av.open(str(place / sound["file"])) as opened:
                tags = opened.metadata
            assert "Nirvani Tolasar (mandolin)" in tags["artist"]
            assert allowed in tags["copyright"]


def test_what_is_written_by_people_is_text_on_the_page(place: Path) -> None:
    page = (place / "index.html").read_text("utf-8")
    assert "<h1>Tihais in rupak &lt;for&gt; practice</h1>" in page
