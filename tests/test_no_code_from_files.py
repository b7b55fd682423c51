"""No file that comes from elsewhere can make the program run something: nothing of the kind is in the code.

Dask's own transport between the machines of a cluster is the one exception, and the library's.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCES = sorted(
    path
    for path in ROOT.rglob("*.py")
    if not any(part.startswith(".") or part in ("build", "tests") for part in path.relative_to(ROOT).parts)
)
MODULES = {"pickle", "cPickle", "_pickle", "dill", "cloudpickle", "joblib", "marshal", "shelve"}
CALLS = {"eval", "exec", "compile", "__import__"}
METHODS = {
    ("yaml", "load"),
    ("pd", "read_pickle"),
    ("pandas", "read_pickle"),
    ("os", "system"),
    ("os", "popen"),
}


def risks(source: str) -> Iterator[str]:
    """Give what could make a file's content run, with its line."""
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                yield from (f"{node.lineno} import {name.name}" for name in names if name.name.split(".")[0] in MODULES)
            case ast.ImportFrom(module=str(module)) if module.split(".")[0] in MODULES:
                yield f"{node.lineno} from {module}"
            case ast.Call(func=ast.Name(id=name)) if name in CALLS:
                yield f"{node.lineno} {name}()"
            case ast.Call(func=ast.Attribute(value=ast.Name(id=module), attr=name)) if (module, name) in METHODS:
                yield f"{node.lineno} {module}.{name}()"
        for keyword in getattr(node, "keywords", []):
            safe = isinstance(keyword.value, ast.Constant) and keyword.value.value is False
            if keyword.arg in ("allow_pickle", "shell") and not safe:
                yield f"{node.lineno if hasattr(node, 'lineno') else 0} {keyword.arg}"
        if isinstance(node, ast.Attribute) and node.attr in ("to_pickle", "read_pickle"):
            yield f"{node.lineno} {node.attr}"


def test_nothing_in_a_file_is_ever_run() -> None:
    found = {str(path.relative_to(ROOT)): list(risks(path.read_text("utf-8"))) for path in SOURCES}
    assert len(found) > 200
    assert {name: each for name, each in found.items() if each} == {}


@pytest.mark.parametrize(
    "source",
    [
        "import pickle",
        "from pickle import loads",
        "import joblib.x",
        "eval('1')",
        "exec(text)",
        "yaml.load(f)",
        "np.load(f, allow_pickle=True)",
        "np.load(f, allow_pickle=way)",
        "pd.read_pickle(f)",
        "frame.to_pickle(f)",
        "subprocess.run(x, shell=True)",
        "os.system(x)",
    ],
)
def test_the_search_finds_what_it_looks_for(source: str) -> None:
    assert list(risks(source))
