"""Stems are told by their names, and what cannot be told is asked for."""

import numpy as np
import pytest

from ingest.errors import StemsUnclear, UnreadableAudio
from ingest.sound_files import Sound, duration_s, probe_sound, stems_in
from tests.ingest.sounds import write


def folder_of(tmp_path, *names):
    for name in names:
        write(tmp_path / name, np.zeros(8000), 8000)
    return tmp_path


def told(sound):
    roles = ("whole", "melody", "tabla", "drone")
    return {role: [path.name for path in getattr(sound, role)] for role in roles if getattr(sound, role)}


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["melody.wav", "tabla.wav"], {"melody": ["melody.wav"], "tabla": ["tabla.wav"]}),
        (
            ["Desh - sarod.wav", "Desh - Tabla.flac", "Desh - tanpura.wav", "Desh - mix.wav"],
            {
                "whole": ["Desh - mix.wav"],
                "melody": ["Desh - sarod.wav"],
                "tabla": ["Desh - Tabla.flac"],
                "drone": ["Desh - tanpura.wav"],
            },
        ),
        (
            ["sitar and tabla (sitar).wav", "sitar and tabla (tabla).wav", "sitar and tabla.wav"],
            {
                "whole": ["sitar and tabla.wav"],
                "melody": ["sitar and tabla (sitar).wav"],
                "tabla": ["sitar and tabla (tabla).wav"],
            },
        ),
        (["evening.wav", "evening_tabla.wav"], {"whole": ["evening.wav"], "tabla": ["evening_tabla.wav"]}),
        (
            ["tabla 10.wav", "tabla 2.wav", "vocal 2.wav", "vocal 10.wav"],
            {"melody": ["vocal 2.wav", "vocal 10.wav"], "tabla": ["tabla 2.wav", "tabla 10.wav"]},
        ),
        (["01 bansuri.wav", "02 tabla.wav"], {"melody": ["01 bansuri.wav"], "tabla": ["02 tabla.wav"]}),
    ],
)
def test_stems_are_told_by_their_names(tmp_path, names, expected):
    sound = stems_in(folder_of(tmp_path, *names))
    assert told(sound) == expected
    assert duration_s(sound) == pytest.approx(sum(info.duration_s for info in probe_sound(sound).tabla))


@pytest.mark.parametrize(
    ("names", "message"),
    [
        (["melody.wav", "tabla.wav", "harmonium.wav"], r"what 'harmonium\.wav' holds: its name does not say"),
        (
            ["lead.wav", "sitar.wav", "tabla.wav"],
            r"could be the same stem \(tabla: tabla\.wav; melody: lead\.wav, sitar\.wav\)",
        ),
        (["tabla bayan.wav", "tabla dayan.wav", "sitar.wav"], "could be the same stem"),
        (["tabla 1.wav", "tabla 2.wav", "sitar 1.wav"], "could be the same stem"),
        (["sarod and tabla.wav", "tanpura.wav"], r"'sarod and tabla\.wav' holds: it could be tabla or melody"),
        (["tabla.wav"], "all its files are of one kind"),
        (["mix.wav", "tanpura.wav"], "no file's name says tabla or names a lead"),
        ([], "no file's name says tabla"),
    ],
)
def test_what_cannot_be_told_is_asked_for(tmp_path, names, message):
    with pytest.raises(StemsUnclear, match=message):
        stems_in(folder_of(tmp_path, *names))


def test_what_lies_beside_the_stems_is_passed_over(tmp_path):
    folder_of(tmp_path, "melody.wav", "tabla.wav")
    for name in ("tabla notes.txt", "cover.jpg", ".hidden tabla.wav", "project.session"):
        (tmp_path / name).write_text("not sound")
    (tmp_path / "takes").mkdir()
    assert told(stems_in(tmp_path)) == {"melody": ["melody.wav"], "tabla": ["tabla.wav"]}


def test_a_stem_without_sound_in_it_is_no_matter_to_pass_over(tmp_path):
    folder_of(tmp_path, "melody.wav", "sitar tabla.wav")
    (tmp_path / "tabla.wav").write_text("not sound")
    with pytest.raises(UnreadableAudio, match=r"tabla\.wav"):
        stems_in(tmp_path)


def test_a_file_in_place_of_the_folder_is_told(tmp_path):
    path = write(tmp_path / "tabla.wav", np.zeros(100))
    with pytest.raises(StemsUnclear, match="not a folder"):
        stems_in(path)


def test_the_files_of_a_recording_are_listed_the_whole_first(tmp_path):
    sound = Sound((tmp_path / "w",), (tmp_path / "m",), (tmp_path / "t",), (tmp_path / "d",))
    assert [path.name for path in sound.files] == ["w", "m", "t", "d"]
    assert sound.of("melody") == ((tmp_path / "m",),)
    assert sound.of("whole") == sound.tracks == ((tmp_path / "w",),)
