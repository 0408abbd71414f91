"""Habits that a reader may rely on: imports go one way, files stay short, docstrings tell names and units."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("architectures", "components", "loopnet")
FILES = sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))
NAMES = [str(path.relative_to(ROOT)) for path in FILES]

ROOMS = ("errors", "units", "params", "shown", "media", "plant", "solve", "site", "year", "money", "study", "explore",
         "draw", "plants", "plantfile", "report", "report_why", "report_explore", "report_supply", "page",
         "notebook", "output", "commands", "cli")
"""Rooms of loopnet in the order in which data flows; each may import those before it."""
FOR_COMPONENTS = ROOMS[: ROOMS.index("year") + 1]
READ = {"components": FOR_COMPONENTS, "architectures": (*FOR_COMPONENTS, "explore")}
"""Rooms that other packages read: a grammar of architectures answers who explores."""

LONG = 400
LONG_BECAUSE: dict[str, str] = {}
"""Modules above the limit, each with the reason."""


@dataclass
class Imports:
    """What a module imports when it runs, and what only type checkers read."""

    running: set[str] = field(default_factory=set)
    typing: set[str] = field(default_factory=set)


def imports(source: str) -> Imports:
    found = Imports()

    def walk(node: ast.AST, into: set[str]) -> None:
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            for child in node.body:
                walk(child, found.typing)
            for child in node.orelse:
                walk(child, into)
            return
        if isinstance(node, ast.Import):
            into.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, "imports are absolute"
            into.update(f"{node.module}.{alias.name}" for alias in node.names)
        for child in ast.iter_child_nodes(node):
            walk(child, into)

    walk(ast.parse(source), found.running)
    return found


def room(module: str) -> str:
    """The room of a dotted name inside loopnet; empty for the package itself."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 and parts[1] in ROOMS else ""


def goes_up(name: str, source: str) -> list[str]:
    """Imports of a module that go against the stream."""
    package, *rest = Path(name).with_suffix("").parts
    wrong = []
    for module in imports(source).running:
        target = module.split(".")[0]
        if target not in PACKAGES:
            continue
        if PACKAGES.index(target) < PACKAGES.index(package):
            wrong.append(module)
        elif package == "loopnet" and target == "loopnet" and rest[0] in ROOMS:
            if not room(module) or ROOMS.index(room(module)) > ROOMS.index(rest[0]):
                wrong.append(module)
        elif package != "loopnet" and target == "loopnet" and room(module) not in READ[package]:
            wrong.append(module)
    return wrong


def test_the_rule_sees_what_is_wrong():
    assert goes_up("loopnet/media/x.py", "from loopnet.plant import Plant") == ["loopnet.plant.Plant"]
    assert goes_up("loopnet/solve/x.py", "def f():\n    import components.pipe") == ["components.pipe"]
    assert goes_up("components/x.py", "from loopnet.money import CostLine") == ["loopnet.money.CostLine"]
    assert goes_up("components/x.py", "import architectures.oil_salt") == ["architectures.oil_salt"]
    assert goes_up("loopnet/plant/x.py", "if TYPE_CHECKING:\n    from loopnet.money import CostLine") == []
    assert goes_up("loopnet/cli.py", "from loopnet.study import rank\nfrom loopnet.plants import find_plant") == []
    assert imports("if TYPE_CHECKING:\n    import a\nelse:\n    import b") == Imports({"b"}, {"a"})


def test_every_room_is_known():
    found = {path.stem if path.is_file() else path.name for path in (ROOT / "loopnet").iterdir()
             if path.suffix == ".py" or (path / "__init__.py").exists()}
    assert found - {"__init__"} == set(ROOMS)


@pytest.mark.parametrize("name", NAMES)
def test_imports_go_one_way(name):
    assert goes_up(name, (ROOT / name).read_text(encoding="utf-8")) == []


def test_one_module_imports_coolprop():
    users = [name for name, path in zip(NAMES, FILES, strict=True)
             if any(m.split(".")[0] == "CoolProp" for m in imports(path.read_text(encoding="utf-8")).running)]
    assert users == ["loopnet/media/coolprop.py"]


def lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def test_modules_are_short():
    long = {name for name, path in zip(NAMES, FILES, strict=True) if lines(path) > LONG}
    assert long == set(LONG_BECAUSE)


def test_architectures_fit_on_a_page():
    for path in (ROOT / "architectures").glob("*.py"):
        assert lines(path) <= 65, path.name


def test_every_module_says_what_it_is():
    for name, path in zip(NAMES, FILES, strict=True):
        text = path.read_text(encoding="utf-8")
        if text.strip():
            assert ast.get_docstring(ast.parse(text)), name


# -- docstrings --------------------------------------------------------------------------------------------------------

NUMERIC = re.compile(r"\b(float|array|arrays)\b(?! of (int|bool))")
"""Types that carry quantities; whole numbers count or point at something."""
UNIT = re.compile(r"\[[^\]]+\]|\bunit\b")
"""A unit in brackets, or words that say whose unit it is."""
GENERIC = {"weights", "Table.at", "tabulate"}
"""Interpolation: the numbers have whatever unit the caller's have."""


def public_functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Functions of a module, and methods of its classes, whose names do not begin with an underscore."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for item in node.body:
                if isinstance(item, ast.FunctionDef) and (not item.name.startswith("_") or item.name == "__call__"):
                    yield f"{node.name}.{item.name}", item


def section(doc: str, title: str) -> list[tuple[list[str], str, str]]:
    """Entries of a numpy section: names, type, description."""
    found = re.search(rf"^{title}\n-+\n(.*?)(?=^\S[^\n]*\n-{{3,}}$|\Z)", doc, re.M | re.S)
    entries: list[tuple[list[str], str, str]] = []
    for line in (found[1] if found else "").splitlines():
        if line and not line[0].isspace():
            head, _, kind = line.partition(" : ")
            entries.append(([n.strip() for n in head.split(",")], kind, ""))
        elif line.strip() and entries:
            names, kind, text = entries[-1]
            entries[-1] = names, kind, f"{text} {line.strip()}".strip()
    return entries


def signature(node: ast.FunctionDef) -> list[str]:
    a = node.args
    names = [x.arg for x in (*a.posonlyargs, *a.args)] + ([f"*{a.vararg.arg}"] if a.vararg else [])
    names += [x.arg for x in a.kwonlyargs] + ([f"**{a.kwarg.arg}"] if a.kwarg else [])
    return [name for name in names if name not in ("self", "cls")]


def faults(qualified: str, node: ast.FunctionDef) -> list[str]:
    """What is wrong with the docstring of a function."""
    doc = ast.get_docstring(node) or ""
    wrong = []
    parameters = section(doc, "Parameters")
    if parameters:
        named, has = [n for names, _, _ in parameters for n in names], signature(node)
        if named != has:
            wrong.append(f"{qualified}: names {named}, signature {has}")
    if qualified in GENERIC:
        return wrong
    for names, kind, text in parameters:
        if NUMERIC.search(kind) and not UNIT.search(f"{kind} {text}"):
            wrong.append(f"{qualified}: {', '.join(names)} has no unit")
    for names, kind, text in section(doc, "Returns"):
        if NUMERIC.search(f"{' '.join(names)} {kind}") and not UNIT.search(text):
            wrong.append(f"{qualified}: what it returns ({' '.join(names)}) has no unit")
    return wrong


def test_docstring_rules_see_what_is_wrong():
    def of(text: str) -> list[str]:
        return faults("f", next(n for n in ast.parse(text).body if isinstance(n, ast.FunctionDef)))

    def made(parameters: str, returns: str = "float\n        Area [m2].") -> str:
        return (f'def f(a, *, b=1):\n    """Does.\n\n    Parameters\n    ----------\n    {parameters}\n\n    Returns\n'
                f'    -------\n    {returns}\n    """\n')

    assert of(made("a, b : float\n        Two lengths [m].")) == []
    assert of(made("a : float\n        A length [m].\n    b : str\n        A name.")) == []
    assert of(made("a : float\n        A length [m].")) == ["f: names ['a'], signature ['a', 'b']"]
    assert of(made("a, b : float\n        Two lengths.")) == ["f: a, b has no unit"]
    assert of(made("a, b : float\n        Two lengths [m].", "float\n        Area.")) == [
        "f: what it returns (float) has no unit"]


@pytest.mark.parametrize("name", NAMES)
def test_docstrings_name_their_parameters_and_units(name):
    tree = ast.parse((ROOT / name).read_text(encoding="utf-8"))
    assert [fault for qualified, node in public_functions(tree) for fault in faults(qualified, node)] == []


@pytest.mark.parametrize("name", NAMES)
def test_public_functions_say_what_they_do(name):
    """Functions that a module offers; methods of a protocol are told once, in its base."""
    tree = ast.parse((ROOT / name).read_text(encoding="utf-8"))
    silent = [n.name for n in tree.body if isinstance(n, (ast.FunctionDef, ast.ClassDef))
              and not n.name.startswith("_") and not ast.get_docstring(n)
              and "overload" not in map(ast.unparse, n.decorator_list)]
    assert silent == []


# -- words -------------------------------------------------------------------------------------------------------------


def test_no_file_knows_the_machine_it_was_written_on():
    """Fragments of paths, put together here so that this file does not hold them itself."""
    forbidden = ["/" + "work", "shared" + "/", "/" + "tmp/", "/" + "home/"]
    folders = [ROOT / name for name in (*PACKAGES, "tests", ".ci")]
    paths = [p for folder in folders for p in folder.rglob("*") if p.is_file()]
    paths += [p for p in ROOT.iterdir() if p.is_file() and p.suffix in (".md", ".toml", ".cfg", ".txt")]
    kinds = {".py", ".md", ".toml", ".txt", ".cfg", ".sh", ".yml", ".yaml", ".json", ".csv", ""}
    found = [f"{p.relative_to(ROOT)}: {word}" for p in paths if p.suffix in kinds and "__pycache__" not in p.parts
             for word in forbidden if word in p.read_text(encoding="utf-8", errors="replace")]
    assert len(paths) > 50
    assert found == []
