"""Every callback of the pages, called as a browser calls it: with something in every field and every button pressed."""

from __future__ import annotations

import json
from typing import Any

from tests.dashboard.conftest import SLUG

VALUES: dict[str, Any] = {
    "mark-sams": "11.06",
    "mark-start-1": "11.0",
    "mark-start-2": "13.5",
    "mark-start-3": "16.0",
    "mark-landing": "18.02",
    "mark-palla": "R m P N S'",
    "mark-dam": "0",
    "mark-start": "1",
    "mark-target": "1",
    "mark-rule": "within",
    "mark-by": "mandolin",
    "where.pathname": f"/cycles/{SLUG}",
    "where.search": "",
}


def called(callback: dict[str, Any]) -> dict[str, Any]:
    """Return the request that calls a callback, as ``/_dash-dependencies`` tells of it."""
    outputs = [_part(each) for each in callback["output"].strip(".").split("...")]
    inputs = [_filled(each) for each in callback["inputs"]]
    first = inputs[0][0] if isinstance(inputs[0], list) else inputs[0]
    name = (
        first["id"] if isinstance(first["id"], str) else json.dumps(first["id"], sort_keys=True, separators=(",", ":"))
    )
    return {
        "output": callback["output"],
        "outputs": outputs if callback["output"].startswith("..") else outputs[0],
        "inputs": inputs,
        "state": [_filled(each) for each in callback["state"]],
        "changedPropIds": [f"{name}.{first['property']}"],
    }


def on_server(dependencies: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Those that the server answers; the others run in the browser."""
    return [each for each in dependencies if not each.get("clientside_function")]


def writing_to(dependencies: list[dict[str, Any]], pressed: str) -> dict[str, Any]:
    """The callback that a button calls."""
    return next(each for each in on_server(dependencies) if each["inputs"][0]["id"] == pressed)


def _filled(each: dict[str, Any]) -> Any:
    if each["id"].startswith("{"):
        keys = json.loads(each["id"])
        return [{"id": {key: key for key in keys}, "property": each["property"], "value": 1}]
    return {"id": each["id"], "property": each["property"], "value": _value(each["id"], each["property"])}


def _value(name: str, prop: str) -> Any:
    for key in (f"{name}.{prop}", name):
        if key in VALUES:
            return VALUES[key]
    if "slug" in name:
        return SLUG
    return {"n_clicks": 1, "n_submit": 1, "n_intervals": 1, "data": {"slug": SLUG}}.get(prop, "1")


def _part(text: str) -> dict[str, Any]:
    name, _, prop = text.rpartition(".")
    return {"id": name, "property": prop.partition("@")[0]}
