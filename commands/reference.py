"""Looking up: talas, ragas, and a phrase held against a raga. These commands need no recording."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import archive_option, json_option
from commands.printing import print_json, print_table

if TYPE_CHECKING:
    from theory.layout import Script
    from theory.ragas import Raga
    from theory.talas import Tala

LAYAS_SHOWN = ("dugun", "tigun", "chaugun")
script_option = click.option(
    "--script",
    type=click.Choice(["typed", "latin", "devanagari"]),
    default="typed",
    show_default=True,
    help="How the theka is written; latin and devanagari have Bhatkhande's signs.",
)


@click.command()
@click.argument("name", required=False)
@script_option
@archive_option
@json_option
def talas(name: str | None, script: Script, archive_path: Path, as_json: bool) -> None:
    """The talas, or all that is known of one (a variant: ektal/bengali).

    Talas of your own: write them in a TOML file and name it in the variable LAYAKOSH_OWN.
    """
    del archive_path  # every command takes --archive; these need none
    from theory.talas import all_talas, get_tala, tala_variants

    if name is None:
        if as_json:
            print_json(
                [tala.to_json() | {"variants": [each.key for each in tala_variants(tala)]} for tala in all_talas()]
            )
        else:
            _print_talas(all_talas())
        return
    tala = get_tala(name)
    if as_json:
        variants = [each.to_json() for each in tala_variants(tala)]
        print_json(tala.to_json() | {"layakari": list(_layakari(tala)), "variants": variants})
        return
    click.echo(f"{tala.name}, {_matras_of(tala)}")
    _print_theka(tala, script)
    also = {"also called": ", ".join(tala.aliases), "laya": tala.laya}
    also |= {"mukhra": ", ".join(f"{gat} from {tala.name_of(matra)}" for gat, matra in tala.mukhra_starts)}
    also |= {"once through": "; ".join(each["said"] for each in _layakari(tala))}
    _print_lines(also | {"notes": tala.notes, "source": tala.source})
    for variant in tala_variants(tala):
        click.echo(f"\n{variant.key}: {variant.name.removeprefix(tala.name).lstrip(', ')}, {_matras_of(variant)}")
        _print_theka(variant, script)
        _print_lines({"notes": variant.notes, "source": variant.source})


def _print_talas(talas: tuple[Tala, ...]) -> None:
    from theory.talas import tala_variants

    print_table(
        f"{len(talas)} talas",
        ["tala", "matras", "vibhags", "marks", "laya", "variants"],
        [
            [
                tala.name,
                str(tala.matras),
                _vibhags(tala),
                _marks(tala),
                tala.laya,
                ", ".join(each.key.partition("/")[2] for each in tala_variants(tala)),
            ]
            for tala in talas
        ],
    )


def _vibhags(tala: Tala) -> str:
    equal = len(set(tala.vibhags)) == 1
    return f"{len(tala.vibhags)} x {tala.vibhags[0]}" if equal else "+".join(map(str, tala.vibhags))


def _marks(tala: Tala) -> str:
    signs = " ".join(f"{mark.label}@{mark.matra}" for mark in tala.marks)
    return signs if tala.marks_known else f"{signs} ..."


def _matras_of(tala: Tala) -> str:
    from theory.layout import legend

    return f"{tala.matras} matras in {_vibhags(tala)}: {legend(tala)}"


def _print_theka(tala: Tala, script: Script) -> None:
    from theory.layout import lay_out, to_terminal

    if tala.theka_known:
        click.echo(to_terminal(lay_out(tala.theka, tala, script=script), shutil.get_terminal_size((100, 24)).columns))
    else:
        click.echo("  The theka is not transcribed.")


def _layakari(tala: Tala) -> Iterator[dict[str, str]]:
    """Yield where once through the theka must begin, in each laya, to end on sam."""
    from theory.laya import layas_named, start_to_end_on_sam
    from theory.numbers import spoken, stored

    for name in LAYAS_SHOWN:
        ratio = layas_named(name)[0].ratio
        start = start_to_end_on_sam(tala, ratio)
        yield {
            "laya": name,
            "ratio": stored(ratio),
            "matras": stored(tala.matras / ratio),
            "start": stored(start),
            "said": f"{name} {spoken(tala.matras / ratio)} matras, from {tala.name_of(start)} to end on sam",
        }


def _print_lines(lines: dict[str, str]) -> None:
    for title, text in lines.items():
        if text:
            click.echo(f"  {title}: {text}")


@click.command()
@click.argument("name", required=False)
@archive_option
@json_option
def ragas(name: str | None, archive_path: Path, as_json: bool) -> None:
    """The ragas, or all that is known of one (a variant: kafi/pa-sa).

    Ragas of your own: write them in a TOML file and name it in the variable LAYAKOSH_OWN.
    """
    del archive_path
    from theory.ragas import all_ragas, get_raga, raga_variants

    if name is None:
        if as_json:
            print_json(
                [raga.to_json() | {"variants": [each.key for each in raga_variants(raga)]} for raga in all_ragas()]
            )
        else:
            print_table(
                f"{len(all_ragas())} ragas",
                ["raga", "thaat", "aroha", "avaroha", "vadi", "samvadi", "time"],
                [
                    [raga.name, raga.thaat, raga.aroha, raga.avaroha, raga.vadi, raga.samvadi, raga.time]
                    for raga in all_ragas()
                ],
            )
        return
    raga = get_raga(name)
    variants = raga_variants(raga)
    if as_json:
        print_json(raga.to_json() | {"variants": [each.to_json() for each in variants]})
        return
    click.echo(raga.name)
    lines = _raga_lines(raga)
    _print_lines(lines | {"notes": raga.notes, "source": raga.source})
    for variant in variants:
        differs = {title: text or "none" for title, text in _raga_lines(variant).items() if text != lines[title]}
        differs.pop("also called", None)
        click.echo(f"\n{variant.key}: {variant.name.removeprefix(raga.name).lstrip(', ')}")
        _print_lines(differs | {"notes": variant.notes, "source": variant.source})
    click.echo("\nSchools differ; your own teacher has the last word.")


def _raga_lines(raga: Raga) -> dict[str, str]:
    """Return what is known of a raga, line by line; '' where there is nothing to say."""
    within = (f"{swara} only within {' or '.join(ways)}" for swara, ways in raga.only_within)
    return {
        "also called": ", ".join(raga.aliases),
        "thaat": raga.thaat or "none of the ten",
        "aroha": raga.aroha,
        "avaroha": raga.avaroha,
        "swaras": " ".join(raga.swaras),
        "left out": " ".join(raga.omitted),
        "only going up": " ".join(raga.ascent_only),
        "only going down": " ".join(raga.descent_only),
        "kept to": "; ".join(within),
        "not straight": "; ".join(raga.never),
        "allowed all the same": "; ".join(raga.allowed),
        "vadi": raga.vadi or "no agreed one",
        "samvadi": raga.samvadi or "no agreed one",
        "phrases": "; ".join(raga.phrases),
        "time": raga.time,
        "jati": raga.jati,
    }


@click.command("raga-check")
@click.option("--raga", required=True, help="The raga, or a variant of it, as in 'desh' or 'bageshri/without-pa'.")
@click.option("--swaras", required=True, help='The phrase in sargam, as in "R m P n D P".')
@archive_option
@json_option
def raga_check(raga: str, swaras: str, archive_path: Path, as_json: bool) -> None:
    """See which swaras of a phrase are unusual in a raga."""
    del archive_path
    from theory.raga_check import check_phrase
    from theory.ragas import get_raga

    known = get_raga(raga)
    breaches = check_phrase(known, swaras)
    if as_json:
        print_json({"raga": known.key, "swaras": swaras, "unusual": [breach.to_json() for breach in breaches]})
        return
    if not breaches:
        click.echo(f"Nothing is unusual in {known.name}.")
        return
    columns = {breach.column for breach in breaches}
    click.echo("  " + " ".join(swaras.split("\n")).replace("\t", " "))
    click.echo("  " + "".join("^" if column in columns else " " for column in range(max(columns) + 1)))
    for breach in breaches:
        click.echo(breach.sentence)
    click.echo("Schools differ; your own teacher has the last word.")
