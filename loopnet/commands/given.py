"""Parameters given on the command line: as a TOML file or as NAME=VALUE, and what they say in words."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields, replace
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from loopnet.errors import DataError, LoopnetError, ParameterError
from loopnet.params import Parameters

if TYPE_CHECKING:
    from loopnet.money import Finance
    from loopnet.year import Operation

__all__ = ["finance_of", "finance_words", "given", "operation_of", "operation_words"]

Kind = TypeVar("Kind", bound=Parameters)


def given(kind: type[Kind], texts: Sequence[str], option: str, **more: Any) -> Kind:
    """Parameters from what stands behind an option: paths of TOML files and NAME=VALUE, the later over the earlier.

    Parameters
    ----------
    kind : type
        A class of `Parameters`.
    texts : sequence of str
        Each the path of a TOML file, or ``NAME=VALUE``.
    option : str
        The option's name, for messages.
    **more
        Values that lie over all of these.

    Returns
    -------
    Parameters
        Of this class.

    Raises
    ------
    DataError
        If a file cannot be read.
    ParameterError
        If a name is unknown or a value out of range.

    Examples
    --------
    >>> from loopnet.money import Finance
    >>> found = given(Finance, ["rate=5 %", "life=30"], "--finance")
    >>> found.rate, found.life
    (0.05, 30.0)
    """
    values: dict[str, Any] = {}
    for text in texts:
        name, equals, value = text.partition("=")
        pair = equals and not Path(text).is_file() and not text.endswith(".toml")
        values |= _pair(kind, name.strip(), value.strip(), option) if pair else _file(kind, text, option)
    try:
        return kind(**values, **more)
    except LoopnetError as why:
        raise type(why)(why.what, where=f"{option}: {why.where}", got=why.got, allowed=why.allowed,
                        hint=why.hint) from None


def _pair(kind: type[Parameters], name: str, text: str, option: str) -> dict[str, Any]:
    try:
        value: Any = tomllib.loads(f"it = {text}")["it"]
    except tomllib.TOMLDecodeError:
        value = text  # a quantity such as 5 %, or days
    if not isinstance(value, str | int | float | list):
        value = text
    return _known(kind, {name: value}, option)


def _file(kind: type[Parameters], path: str, option: str) -> dict[str, Any]:
    where = f"{option} {path}"
    try:
        data = tomllib.loads(Path(path).read_bytes().decode("utf-8-sig"))
    except OSError as why:
        raise DataError("cannot read this file", where=where, got=why.strerror or str(why),
                        allowed="a TOML file, or NAME=VALUE", hint=f"check the path, or {option} {_example(kind)}"
                        ) from None
    except UnicodeDecodeError as why:
        raise DataError("the file is not UTF-8 text", where=where, got=f"byte {why.object[why.start]:#x} at "
                        f"{why.start}", allowed="UTF-8 text", hint="save the file as UTF-8") from None
    except tomllib.TOMLDecodeError as why:
        raise DataError("the file is not valid TOML", where=where, got=str(why), allowed="TOML",
                        hint=f"a line such as {_example(kind).replace('=', ' = ')}") from None
    return _known(kind, data, where)


def _example(kind: type[Parameters]) -> str:
    """A first NAME=VALUE that would be right."""
    item = next(item for item in fields(kind) if "unit" in item.metadata)
    return f"{item.name}={item.default:g}" if isinstance(item.default, float) else f"{item.name}=..."


def _known(kind: type[Parameters], data: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Only names that the class has, and values of the kind that each takes."""
    items = {item.name: item for item in fields(kind) if item.default is not MISSING}
    if unknown := sorted(set(data) - set(items)):
        near = get_close_matches(unknown[0], items, n=1, cutoff=0.5)
        raise ParameterError("no such name", where=where, got=", ".join(map(repr, unknown)),
                             allowed=", ".join(items), hint=near[0] if near else "one of the allowed names")
    out: dict[str, Any] = {}
    for name, value in data.items():
        if "unit" in items[name].metadata:  # a number or a quantity: `Parameters` checks it
            share = items[name].metadata["unit"] == "1/year" and isinstance(value, str) and value.rstrip().endswith("%")
            out[name] = f"{value}/year" if share else value
        elif "tuple" in str(items[name].type):
            out[name] = tuple(value) if isinstance(value, list) else (value,)
        else:
            wanted = bool if isinstance(items[name].default, bool) else int
            if type(value) is not wanted:
                raise ParameterError("not of the right kind", where=f"{where}: {name}", got=repr(value),
                                     allowed="true or false" if wanted is bool else "a whole number",
                                     hint=f"{name} = {'true' if wanted is bool else 1}")
            out[name] = value
    return out


def operation_of(texts: Sequence[str] | None, outages: Sequence[str] | None, ready: str | None) -> Operation | None:
    """How the plant is run; None where nothing was asked for.

    Parameters
    ----------
    texts : sequence of str or None
        Files and pairs of ``--operation``.
    outages : sequence of str or None
        Days of rest of ``--outage``, beside those of a file.
    ready : str or None
        Share of time in order of ``--ready``, over that of a file [-].

    Returns
    -------
    Operation or None
    """
    from loopnet.year import Operation

    if not texts and not outages and ready is None:
        return None
    found = given(Operation, texts or (), "--operation")
    asked: list[tuple[str, dict[str, Any], str]] = []
    if outages:
        asked.append(("--outage", {"outages": (*found.outages, *outages)}, ""))
    if ready is not None:
        asked.append(("--ready", {"ready": ready}, "--ready 0.96"))
    for option, change, hint in asked:
        try:
            found = replace(found, **change)
        except LoopnetError as why:
            raise type(why)(why.what, where=option, got=why.got, allowed=why.allowed, hint=hint or why.hint) from None
    return found


def finance_of(texts: Sequence[str] | None) -> Finance | None:
    """What money costs, from ``--finance``; None where nothing was asked for."""
    from loopnet.money import Finance

    return given(Finance, texts, "--finance") if texts else None


def operation_words(operation: Operation | None) -> str:
    """How a plant is run, in a line.

    >>> from loopnet.year import Operation
    >>> operation_words(Operation(outages=("03-01 to 03-14",), ready=0.96, least_up="3 hour"))
    'rests 03-01 to 03-14; in order 96 % of the time; standby 0.55 % of gross power; runs at least 3 h'
    >>> operation_words(None)
    'no outage, always in order; standby 0.55 % of gross power'
    """
    from loopnet.year import Operation

    o = operation or Operation()
    rests = f"rests {', '.join(o.outages)}" if o.outages else ""
    order = f"in order {100 * o.ready:.4g} % of the time" if o.ready < 1.0 else ""
    parts = ([rests or "no outage", order or "always in order"] if rests or order else
             ["no outage, always in order"])
    parts.append(f"standby {100 * o.standby:.3g} % of gross power" if o.standby else "no standby power")
    parts += [f"runs at least {o.least_up / 3600:g} h"] * bool(o.least_up)
    parts += [f"rests at least {o.least_down / 3600:g} h between runs"] * bool(o.least_down)
    if o.ramp is not None:
        parts.append(f"changes its load by at most {o.ramp} {'level' if o.ramp == 1 else 'levels'} from step to step")
    return "; ".join(parts)


def finance_words(finance: Finance | None) -> str:
    """Money in a line: what differs from what is taken where nothing is said; empty if nothing does.

    >>> from loopnet.money import Finance
    >>> finance_words(Finance(rate=0.05, life=30))
    'rate 0.05 1/year, life 30 year'
    """
    from loopnet.money import Finance

    usual, found = Finance(), finance or Finance()
    changed = {item.name: (getattr(found, item.name), item.metadata.get("unit", "-")) for item in fields(found)
               if getattr(found, item.name) != getattr(usual, item.name)}
    return ", ".join(f"{name.replace('_', ' ')} {f'{value:g}' if isinstance(value, float) else value}"
                     f"{'' if unit == '-' else f' {unit}'}" for name, (value, unit) in changed.items())
