"""A pack as one page with everything within it, for phones whose browsers see no file beside the one they are given.

The finished ``index.html`` is taken, and whatever it names in the pack's folder is put in its place: style and scripts
as they are, sounds, sheets and notation as data. A sound is within it once, in the browser's own player, from which
the page's player takes it too.
"""

from __future__ import annotations

import base64
import re
from pathlib import Path

_MEDIA = {
    ".mp3": "audio/mpeg",
    ".pdf": "application/pdf",
    ".html": "text/html;charset=utf-8",
    ".mid": "audio/midi",
    ".musicxml": "application/vnd.recordare.musicxml+xml",
}
_STYLE = re.compile(r'<link rel="stylesheet" href="(page/[a-z.-]+)">')
_SCRIPT = re.compile(r'<script src="(page/[a-z.-]+)"></script>')
_SOUND_LINK = re.compile(r'<a href="sounds/[^"]+" (id="[^"]+") download>([^<]*)</a>')
_SOUND = re.compile(r'src="(sounds/[^"]+)"')
_LINK = re.compile(r'href="((?!#|data:)[^"]+)"(?: download)?')


def all_in_one(page: str, folder: Path) -> str:
    """Return a pack's page that needs no other file.

    Parameters
    ----------
    page : str
        As :func:`annotate.practice.packs.page.index_page` gives it.
    folder : Path
        Where all that it names lies.
    """

    def text(name: str) -> str:
        return (folder / name).read_text("utf-8")

    page = _STYLE.sub(lambda found: f"<style>\n{text(found[1])}</style>", page)
    page = _SOUND_LINK.sub(lambda found: f"<span {found[1]}>{found[2]}</span>", page)
    page = _SOUND.sub(lambda found: f'src="{_data(folder / found[1])}"', page)
    page = _LINK.sub(lambda found: f'href="{_data(folder / found[1])}" download="{Path(found[1]).name}"', page)
    return _SCRIPT.sub(lambda found: f"<script>\n{text(found[1])}</script>", page)


def _data(file: Path) -> str:
    return f"data:{_MEDIA[file.suffix]};base64,{base64.b64encode(file.read_bytes()).decode()}"
