"""What the README promises is so: every command stands in its table, and the example prints what it shows."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from click.testing import CliRunner

from layakosh import main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_command_stands_in_the_readme_table() -> None:
    listed = set(re.findall(r"^\| `layakosh ([\w-]+)", README, re.MULTILINE))
    assert listed == set(main.commands)


def test_every_option_named_in_the_readme_table_exists() -> None:
    for line in re.findall(r"^\| `layakosh (.+?)` \|", README, re.MULTILINE):
        command = main.commands[line.split()[0]]
        known = {name for parameter in command.params for name in parameter.opts}
        assert set(re.findall(r"--[\w-]+", line)) <= known, line


def test_every_command_takes_an_archive() -> None:
    assert all(any("--archive" in p.opts for p in command.params) for command in main.commands.values())


def test_the_example_on_paper_prints_what_the_readme_shows() -> None:
    example = re.search(r"^    \$ (layakosh paper .+)\n((?:    .*\n)+)", README, re.MULTILINE)
    assert example
    shown = "".join(line[4:] + "\n" for line in example.group(2).splitlines())
    printed = CliRunner().invoke(main, shlex.split(example.group(1))[1:]).stdout
    assert printed.rstrip() == shown.rstrip()


def test_every_top_level_folder_stands_in_the_developers_map() -> None:
    folders = {p.name for p in ROOT.iterdir() if (p / "__init__.py").exists()}
    assert all(f"`{folder}/`" in DEVELOPERS for folder in folders - {"tests"})


def test_every_picture_of_the_readme_is_there_small_and_described() -> None:
    shown = re.findall(r"!\[(.*?)\]\((.+?)\)", README)
    assert shown
    for description, place in shown:
        assert len(description) > 15, place
        assert (ROOT / place).stat().st_size < 150_000, place
    assert {path.name for path in (ROOT / "docs").iterdir()} == {Path(place).name for _description, place in shown}
