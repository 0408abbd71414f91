"""Finds the tests that hold a component against something outside the project, with the source above each."""

from __future__ import annotations

import ast
import sys
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from making.source import ROOT, imported_modules, tree_of

__all__ = ["Check", "checks_of"]


@dataclass(frozen=True)
class Check:
    """One test with an outside number: its file, its name in words, the source above it, the modules it uses."""

    file: str
    name: str
    source: str
    modules: frozenset[str]

    @property
    def title(self) -> str:
        """The test's name as words."""
        return self.name.removeprefix("test_").replace("_", " ")


def checks_of(cls: type) -> list[Check]:
    """Checks of the file named after its module, those that use it, then those of what it takes from others."""
    own = {base.__module__ for base in cls.__mro__ if base.__module__.startswith("components.")}
    physics = {module for name in own for found in imported_modules(_file(name)).values() for module in found
               if not _holds_components(module)}
    homes = {f"tests/{name.replace('.', '/test_')}.py" for name in own}
    found = [check for check in all_checks() if check.file in homes or check.modules & (own | physics)]
    return sorted(found, key=lambda check: (check.file not in homes, not check.modules & own))


def _holds_components(module: str) -> bool:
    """Whether a module holds a component of its own, whose checks are told on its own page."""
    from loopnet.plant import Component

    kinds = [x for x in vars(sys.modules[module]).values() if isinstance(x, type) and x.__module__ == module]
    return any(issubclass(kind, Component) for kind in kinds)


def _file(module: str) -> Path:
    return ROOT / (module.replace(".", "/") + ".py")


@lru_cache(maxsize=1)
def all_checks() -> tuple[Check, ...]:
    """Every test under tests/ that is marked ``book``, by file and line."""
    found = []
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        text = path.read_text(encoding="utf-8").splitlines()
        for node in tree_of(str(path)).body:
            if isinstance(node, ast.FunctionDef) and any("mark.book" in ast.unparse(d) for d in node.decorator_list):
                first = min(d.lineno for d in node.decorator_list)
                found.append(Check(str(path.relative_to(ROOT)), node.name, _above(text, first, node),
                                   frozenset(_modules(path, node, set()))))
    return tuple(found)


def _modules(path: Path, node: ast.AST, seen: set[str]) -> set[str]:
    """Modules of components/ whose names a piece of a test uses, by itself or through helpers of its file."""
    used = {n.id for n in ast.walk(node) if isinstance(n, ast.Name)} | {
        a.arg for a in ast.walk(node) if isinstance(a, ast.arg)}
    names, here = imported_modules(path), _named(path)
    found = {module for word in used for module in names.get(word, ())}
    for word in sorted(used):
        helper = here.get(word)
        if helper is not None and helper is not node and word not in seen:
            seen.add(word)
            found |= _modules(path, helper, seen)
    return found


def _named(path: Path) -> dict[str, ast.AST]:
    """Functions, classes and constants of a file, by name."""
    found: dict[str, ast.AST] = {}
    for node in tree_of(str(path)).body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            found[node.name] = node
        elif isinstance(node, ast.Assign):
            found |= {target.id: node for target in node.targets if isinstance(target, ast.Name)}
    return found


def _above(text: list[str], line: int, node: ast.FunctionDef) -> str:
    """The comment above a test; where there is none, the first one inside it."""
    lines: list[str] = []
    at = line - 2
    while at >= 0 and text[at].startswith("#"):
        lines.insert(0, text[at].lstrip("# ").strip())
        at -= 1
    if not lines:
        for row in text[node.lineno:node.end_lineno]:
            if row.strip().startswith("#"):
                lines.append(row.strip().lstrip("# "))
            elif lines:
                break
    return " ".join(lines) or (ast.get_docstring(node) or "").split("\n\n")[0].replace("\n", " ")
