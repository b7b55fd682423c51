"""What each stage of a taking in does.

Conventions: every function takes the folder that will be the recording's, what it is told, what the stages it needs
found, and a function to tell its share done; it leaves files in the folder and returns what it found as JSON values.
"""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import accumulate
from pathlib import Path
from typing import Any, Literal

from annotate import evidence_store, levels_store, melody_store
from annotate.files import make_folders
from annotate.grid import RecordingGrid
from annotate.intake_source import ROLES, Source
from annotate.intake_stages import Found, Share, Stage
from annotate.records import EPOCH, Section
from annotate.revisions import Revision
from annotate.state import empty, replay
from annotate.unfinished import UnreadableWork
from ingest.decode import AudioInfo
from ingest.evidence import Evidence
from ingest.kind_names import USUAL_SCHOOL
from ingest.listen import Sound
from theory.talas import Tala, get_tala

Keep = Literal["original", "compact", "nothing"]
"""What is kept of the sound: the files as they came beside the listening copy, the listening copy, neither."""

DECLARED_SLACK_S = 0.1
"""Codecs count in frames: what is heard may be so much shorter or longer than declared; beyond it a file is broken."""

DIVIDED_AT_ONCE_S = 2 * 3600.0
"""What is longer is divided into sections part by part, so that memory does not grow with it; no section is longer
than one part and a half."""

Told = Mapping[str, Any]
FoundBefore = Mapping[str, Found]


def stages(
    source: Source, talas: Sequence[Tala], keep: Keep, copy_name: str, tempo_school: str = USUAL_SCHOOL
) -> list[Stage]:
    """Return the stages of taking in a source.

    Parameters
    ----------
    source : Source
    talas : sequence of Tala
        One, or the candidates among which each section's is chosen; none where only listening counts.
    keep : {"original", "compact", "nothing"}
    copy_name : str
        Name of the listening copy, without its ending.
    tempo_school : str
        By whose names of the laya gats are called.
    """
    here = {"sound": source.sound, "copy_name": copy_name}
    counted = {"talas": [tala.key for tala in talas], "definitions": [repr(tala) for tala in talas]}
    choices, choosing = (8 * len(talas), "Choosing the tala") if len(talas) > 1 else (1, "")
    return [
        Stage("listen", "Listening", listen_to, {"keep": keep}, here, weight=40),
        Stage("melody", "Following the melody", follow_melody, {}, here, weight=40, apart=True),
        Stage("divide", "Dividing into sections", divide, needs=("listen",)),
        Stage("tala", choosing, choose, counted, needs=("listen", "divide"), weight=choices),
        Stage("fit", "Following the cycle", fit, needs=("listen", "divide", "tala"), weight=8),
        Stage(
            "name",
            "Naming the sections",
            name,
            {"tempo_school": tempo_school},
            needs=("melody", "divide", "tala", "fit"),
        ),
    ]


def listen_to(folder: Path, told: Told, _found: FoundBefore, share: Share) -> Found:
    """Measure the sound, make the waveform and write the listening copy."""
    from ingest.listen import listen
    from ingest.tonic import sa_from_drone

    shutil.rmtree(folder / "sound", ignore_errors=True)  # what a run that was stopped half way left
    keep: Keep = told["keep"]
    into = None if keep == "nothing" else folder / "sound"
    if into is not None:
        make_folders(into)
    heard = listen(told["sound"], into, told["copy_name"], share, keep_original=keep == "original")
    levels_store.save(folder / "evidence", heard.levels)
    evidence_store.save(folder / "evidence", heard.evidence)
    return {
        "duration_s": float(heard.evidence.duration_s),
        "sa_hz": float(sa_from_drone(heard.evidence).hz),
        "copy": "" if heard.copy is None else heard.copy.relative_to(folder).as_posix(),
        "starts_s": _starts_s(told["sound"], heard.evidence.duration_s),
    }


def _starts_s(sound: Sound, heard_s: float) -> list[float]:
    """Where each file begins, in the order of `ROLES`: as declared, or counted where less was heard than declared."""
    from ingest.decode import WORK_RATE_HZ, mono_blocks
    from ingest.listen import probe_sound

    info = probe_sound(sound)
    broken = abs(info.duration_s - heard_s) > DECLARED_SLACK_S

    def length_s(part: AudioInfo) -> float:
        return sum(map(len, mono_blocks(part.path))) / WORK_RATE_HZ if broken else part.duration_s

    starts_s: list[float] = []
    for role in ROLES:
        parts: tuple[AudioInfo, ...] = getattr(info, role)
        if parts:
            starts_s += accumulate(map(length_s, parts[:-1]), initial=0.0)
    return starts_s


def follow_melody(folder: Path, told: Told, _found: FoundBefore, share: Share) -> Found:
    """Follow the lead's melody, from its own stem where there is one."""
    from ingest.decode import WORK_RATE_HZ
    from ingest.listen import blocks_of, duration_s
    from ingest.melody import melody_of_blocks

    expected = duration_s(told["sound"]) * WORK_RATE_HZ

    def watched() -> Any:
        done = 0
        for block in blocks_of(told["sound"], "melody"):
            yield block
            done += len(block)
            share(min(1.0, done / expected))

    melody_store.save(folder / "evidence", melody_of_blocks(watched()))
    return {}


def divide(folder: Path, _told: Told, _found: FoundBefore, share: Share) -> Found:
    """Divide the recording into sections."""
    from ingest.kind_names import WITH_TALA
    from ingest.section_kinds import HeardSection, sections_heard

    evidence = _evidence(folder)
    heard: list[HeardSection] = []
    begins_s = 0.0
    while begins_s < evidence.duration_s:
        ends_s = min(evidence.duration_s, begins_s + DIVIDED_AT_ONCE_S)
        if evidence.duration_s - ends_s < DIVIDED_AT_ONCE_S / 2:
            ends_s = evidence.duration_s
        part = evidence.between(begins_s, ends_s)
        found = sections_heard(part) or [HeardSection("alap", 0.0, part.duration_s)]
        if ends_s < evidence.duration_s and len(found) > 1:
            found = found[:-1]  # it may go on: the next part begins with it
        heard += [
            each._replace(start_s=begins_s + each.start_s, end_s=min(ends_s, begins_s + each.end_s)) for each in found
        ]
        begins_s = heard[-1].end_s
        evidence.let_go()
        share(begins_s / evidence.duration_s)
    sections = [
        {"kind": each.kind, "counted": each.kind in WITH_TALA,
         "start_s": float(each.start_s), "end_s": float(each.end_s)}
        for each in heard
    ]  # fmt: skip
    return {"sections": sections}


def choose(folder: Path, told: Told, found: FoundBefore, share: Share) -> Found:
    """Choose each section's tala among the candidates; with one there is no choice."""
    talas = [get_tala(key) for key in told["talas"]]
    evidence = _evidence(folder) if len(talas) > 1 else None
    chosen: list[str] = []
    sections = found["divide"]["sections"]
    for number, section in enumerate(sections):
        if not section["counted"]:
            chosen.append("")
        elif evidence is None:
            chosen.append(talas[0].key)
        else:
            chosen.append(best_tala(evidence, section["start_s"], section["end_s"], talas).key)
            evidence.let_go()
        share((number + 1) / len(sections))
    return {"talas": chosen, "main": _most_used(sections, chosen) or talas[0].key}


def fit(folder: Path, _told: Told, found: FoundBefore, share: Share) -> Found:
    """Fit the grid, section by section; what is fitted is kept at once."""
    _numbered_grid(folder, found, share)
    return {}


def _numbered_grid(folder: Path, found: FoundBefore, share: Share | None = None) -> RecordingGrid:
    """The grid with sections called by their numbers, fitted where it is not kept yet."""
    from annotate.grid_store import present_grid
    from annotate.revisions import add

    numbered = [replace(section, section=str(number)) for number, section in enumerate(sections_of(found))]
    revision = Revision(1, 0, "", EPOCH, "", tuple(add(section) for section in numbered))
    return present_grid(replay(empty("unfinished"), [revision]), folder / "evidence", share=share)


def name(folder: Path, told: Told, found: FoundBefore, share: Share) -> Found:
    """Tell gats from tabla solos by the cycle, name the gats by their laya, and the grid's sections with them."""
    from annotate.grid_store import save_grid
    from ingest.kinds_by_cycle import kind_by_cycle

    grid, evidence, melody = _numbered_grid(folder, found), _evidence(folder), melody_store.load(folder / "evidence")
    if melody is None:
        raise UnreadableWork(f"The melody in {folder} was there and cannot be read now. Run it again.")
    kinds = [section["kind"] for section in found["divide"]["sections"]]
    for done, fitted in enumerate(grid.sections):
        number, span_s = int(fitted.section), (fitted.start_s, fitted.end_s)
        kinds[number] = kind_by_cycle(
            kinds[number], evidence, melody, span_s, fitted.tala, fitted, told["tempo_school"]
        )
        evidence.let_go()
        share((done + 1) / len(grid.sections))
    names = {str(number): section.section for number, section in enumerate(sections_of(found, kinds))}
    named = tuple(replace(each, section=names[each.section]) for each in grid.sections)
    save_grid(folder / "evidence", RecordingGrid(named, {names[old]: digest for old, digest in grid.digests.items()}))
    return {"kinds": kinds}


def sections_of(found: FoundBefore, kinds: Sequence[str] | None = None) -> list[Section]:
    """Return the sections found, each named by its kind and numbered from the second of a kind on.

    ``kinds`` are those found in the end; until then the kinds that the division gave.
    """
    counts: Counter[str] = Counter()
    sections = []
    divided, talas = found["divide"]["sections"], found["tala"]["talas"]
    kinds = [section["kind"] for section in divided] if kinds is None else kinds
    for section, tala, kind in zip(divided, talas, kinds, strict=True):
        counts[kind] += 1
        name = kind if counts[kind] == 1 else f"{kind} {counts[kind]}"
        sections.append(Section(name, kind, section["start_s"], section["end_s"], tala, "ingest"))
    return sections


def best_tala(evidence: Evidence, start_s: float, end_s: float, talas: Sequence[Tala]) -> Tala:
    """Return the candidate whose cycle the strokes bear out best; the first where no strokes are heard."""
    from ingest.readings import choose_tala

    readings = choose_tala(evidence, start_s, end_s, talas)
    return readings[0].tala if readings else talas[0]


def _most_used(sections: Sequence[Mapping[str, Any]], talas: Sequence[str]) -> str:
    """The tala with the most time; empty where there is none."""
    time_s: Counter[str] = Counter()
    for section, tala in zip(sections, talas, strict=True):
        if tala:
            time_s[tala] += section["end_s"] - section["start_s"]
    return time_s.most_common(1)[0][0] if time_s else ""


def _evidence(folder: Path) -> Evidence:
    evidence = evidence_store.load(folder / "evidence")
    if evidence is None:
        raise UnreadableWork(f"The evidence in {folder} was there and cannot be read now. Run it again.")
    return evidence
