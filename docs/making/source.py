"""Reads source: what a method of a class names (equations, terms, findings), what stands below a field."""

from __future__ import annotations

import ast
import inspect
import re
import sys
import textwrap
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from types import FunctionType
from typing import Any

__all__ = ["ROOT", "attribute_docs", "calls_in", "imported_modules", "plain", "sentences_in", "strings_in", "tree_of",
           "words"]

ROOT = Path(__file__).resolve().parents[2]


@lru_cache(maxsize=512)
def tree_of(path: str) -> ast.Module:
    """The syntax tree of a file, read once."""
    return ast.parse(Path(path).read_text(encoding="utf-8"))


def method_trees(cls: type, method: str) -> Iterator[ast.AST]:
    """The body of a method as it runs on a class: that of the nearest base, those it calls by ``super()``, and the
    functions of components/ that it calls by name."""
    seen: set[Any] = set()
    bases = [base for base in cls.__mro__ if base.__module__.startswith("components.")]
    for base in bases:
        if method not in vars(base):
            continue
        node = _tree(vars(base)[method], seen)
        if node is None:
            return
        yield node
        yield from _called(node, cls, vars(base)[method], seen)
        if f"super().{method}" not in ast.unparse(node):
            return


def _called(node: ast.AST, cls: type, inside: Any, seen: set[Any]) -> Iterator[ast.AST]:
    for call in ast.walk(node):
        if not isinstance(call, ast.Call):
            continue
        target = None
        if isinstance(call.func, ast.Attribute) and ast.unparse(call.func.value) == "self":
            target = inspect.getattr_static(cls, call.func.attr, None)
        elif isinstance(call.func, ast.Name):
            target = getattr(sys.modules[inspect.unwrap(inside).__module__], call.func.id, None)
        if isinstance(target, FunctionType) and target.__module__.startswith("components."):
            inner = _tree(target, seen)
            if inner is not None:
                yield inner
                yield from _called(inner, cls, target, seen)


def _tree(function: Any, seen: set[Any]) -> ast.AST | None:
    if not isinstance(function, FunctionType) or function in seen:
        return None
    seen.add(function)
    return ast.parse(textwrap.dedent(inspect.getsource(function)))


def calls_in(cls: type, method: str, name: str) -> list[ast.Call]:
    """Calls of one name in a method, in the order in which they stand.

    Parameters
    ----------
    cls : type
        A component.
    method, name : str
        As ``"equations"`` and ``"Equation"``.
    """
    return [call for node in method_trees(cls, method) for call in ast.walk(node)
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == name]


def plain(node: ast.AST) -> str:
    """An expression as a reader wants it: without ``self.`` and ``v.``, unknowns by name.

    >>> plain(ast.parse("v.hot.heat - self._ua(v) * v['UA']", mode="eval").body)
    'hot.heat - ua(v) * UA'
    """
    text = ast.unparse(_Kept().visit(ast.parse(ast.unparse(node), mode="eval").body))
    text = re.sub(r"\bv\[(['\"])(\w+)\1\]", r"\2", text)
    text = re.sub(r"\bv\.design\((['\"])(\w+)\1\)", r"design \2", text)
    text = re.sub(r"\bv\.(?:site|given)\((['\"])(\w+)\1\)", r"given \2", text)
    text = re.sub(r"\bself\._(?=[a-z])|\bself\.", "", text)
    return re.sub(r"\bv\.(?=\w)", "", text).replace("**", "^")


class _Kept(ast.NodeTransformer):
    """Takes off ``v.once(name, lambda: x)``, which only keeps x, and what only shapes it, as ``np.squeeze``."""

    def visit_Call(self, node: ast.Call) -> ast.AST:
        self.generic_visit(node)
        name = ast.unparse(node.func)
        if name == "v.once" and len(node.args) == 2 and isinstance(node.args[1], ast.Lambda):
            return node.args[1].body
        return node.args[0] if name in ("np.squeeze", "float", "np.asarray") and len(node.args) == 1 else node


def words(node: ast.AST, named: bool = False) -> str:
    """A piece of text; what is filled in when it is said stands as ``...``, or in braces if it is a name; empty for
    what is no text."""
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else ""
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else
                       "{" + plain(part.value) + "}" if named and isinstance(part, ast.FormattedValue) else "..."
                       for part in node.values)
    return words(node.body, named) if isinstance(node, ast.IfExp) else ""


def sentences_in(cls: type, method: str) -> list[str]:
    """Sentences that a method may say, longest pieces of text only, each once."""
    found: list[str] = []
    for node in method_trees(cls, method):
        inner = {id(part) for whole in ast.walk(node) if isinstance(whole, ast.JoinedStr) for part in whole.values}
        docs = {id(n.body[0].value) for n in ast.walk(node)
                if isinstance(n, (ast.FunctionDef, ast.Module)) and n.body and isinstance(n.body[0], ast.Expr)}
        for piece in ast.walk(node):
            if isinstance(piece, (ast.Constant, ast.JoinedStr)) and id(piece) not in inner | docs:
                text = words(piece).strip()
                if len(text.split()) > 4 and text not in found:
                    found.append(text)
    return found


def strings_in(cls: type) -> set[str]:
    """Every text constant in the classes of components/ that a class is made of."""
    found: set[str] = set()
    for base in cls.__mro__:
        if base.__module__.startswith("components."):
            node = ast.parse(textwrap.dedent(inspect.getsource(base)))
            found |= {n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    return found


def attribute_docs(cls: type) -> dict[str, str]:
    """Text that stands below a field in its class, by name of the field."""
    found: dict[str, str] = {}
    for base in reversed(cls.__mro__):
        if not base.__module__.startswith(("components.", "loopnet.")):
            continue
        (node,) = ast.parse(textwrap.dedent(inspect.getsource(base))).body
        assert isinstance(node, ast.ClassDef)
        for field, after in zip(node.body, node.body[1:], strict=False):
            if (isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name) and isinstance(after, ast.Expr)
                    and isinstance(after.value, ast.Constant)):
                found[field.target.id] = " ".join(str(after.value.value).split())
    return found


def imported_modules(path: Path) -> dict[str, set[str]]:
    """Name -> modules of components/ that it may come from, for all that a file imports from there."""
    found: dict[str, set[str]] = {}
    for node in ast.walk(tree_of(str(path))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("components"):
            for alias in node.names:
                module = f"components.{alias.name}" if node.module == "components" else str(node.module)
                found.setdefault(alias.asname or alias.name, set()).add(module)
    return found
