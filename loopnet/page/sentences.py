"""Plain sentences for a reader who has never seen the program: every one is computed from the results."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from loopnet.page.findings import Findings, Group
from loopnet.site import Weather
from loopnet.study import Assessment, Bridge, BridgeTerm, Reference, Uncertainty
from loopnet.units import show

__all__ = ["answer", "beside", "bridged", "cents", "circuit", "costs", "counted", "days", "drawn", "energy", "how_sure",
           "known", "meanings", "moved", "named", "percent", "place", "ran", "ranked", "size_of", "sky"]

COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def percent(share: float, digits: int = 1) -> str:
    """A share as per cent; one that rounds to nothing or to all is told as a bound.

    >>> percent(0.1234), percent(0.9996), percent(1.0), percent(0.0002), percent(0.0)
    ('12.3 %', 'more than 99.9 %', '100 %', 'less than 0.1 %', '0 %')
    """
    number, least = 100 * share, 10.0 ** -digits
    text = f"{number:.{digits}f}"
    if number <= 0 or number == 100:
        return f"{number:.0f} %"
    if float(text) == 0.0:
        return f"less than {least:.{digits}f} %"
    return f"more than {100 - least:.{digits}f} %" if float(text) == 100.0 > number else f"{text} %"


def _count(number: int) -> str:
    return COUNTS[number] if number < len(COUNTS) else f"{number:,}"


def _list(words: Sequence[str]) -> str:
    """Words with commas and an "and".

    >>> _list(["a"]), _list(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def named(a: Assessment) -> str:
    """A plant by title and name."""
    return a.plant.title if a.plant.title == a.name else f"{a.plant.title} ({a.name})"


def cents(usd: float, digits: int = 1) -> str:
    """A cost as it is said: fewer digits for large ones [US cents].

    >>> cents(0.10409), cents(0.00987), cents(0.00042)
    ('10.4', '0.99', '0.042')
    """
    value = 100 * usd
    return f"{value:.{digits}f}" if abs(value) >= 1 else f"{value:.2f}" if abs(value) >= 0.1 else f"{value:.2g}"


# -- the answer --------------------------------------------------------------------------------------------------------


def answer(group: Group) -> str:
    """Who wins, at what cost, by how much, how sure: one sentence."""
    best, rival, cost = group.first, group.second, group.first.cost.usd_per_kwh
    if rival is None:
        text = f"A kWh of {group.product} from {named(best)} costs {cents(cost)} US cents"
    else:
        gap = rival.cost.usd_per_kwh - cost
        fewest = max(1, next((d for d in (1, 2, 3) if f"{100 * gap:.{d}f}" != f"{0:.{d}f}"), 3))
        text = (f"Of {_count(len(group.plants))} plants that make {group.product}, {named(best)} is the cheapest: a "
                f"kWh costs {cents(cost, fewest)} US cents, {cents(gap, fewest)} "
                f"({percent(gap / rival.cost.usd_per_kwh)}) less than from the next, {named(rival)}, at "
                f"{cents(rival.cost.usd_per_kwh, fewest)}")
    u = group.uncertainty
    if u is None:
        return f"{text}; how sure that is has not been reckoned."
    low, high = _middle(u, best.name)
    if rival is None:
        return f"{text}, and {cents(low)} to {cents(high)} in eight of ten draws, in which {drawn(u)} vary."
    chance = percent(u.probability_first[best.name])
    return f"{text}; it stays the cheapest in {chance} of {u.samples:,} draws, in which {drawn(u)} vary."


def drawn(u: Uncertainty) -> str:
    """What the draws vary."""
    return "prices, physics and finance" if any(s.inputs for s in u.surfaces) else "prices alone"


def _middle(u: Uncertainty, plant: str) -> tuple[float, float]:
    row = u.to_frame().loc[plant]
    return row["10 %"] / 100, row["90 %"] / 100


def sky(weather: Weather | None, name: str) -> str:
    """The weather in a sentence or two."""
    if weather is None:
        return f"The weather is {name}."
    facts = weather.summary()
    made = " It is invented, and fits no place on Earth." if weather.invented else ""
    return (f"The weather is {weather.name}: {facts['dni_kwh_m2']:,.0f} kWh of direct sun on each square metre that "
            f"follows the sun, in {facts['hours']:,.0f} hours; air of {facts['ambient_lowest_degc']:.0f} to "
            f"{facts['ambient_highest_degc']:.0f} °C.{made}")


def place(weather: Weather) -> str:
    """Where the weather is from, and its clock."""
    site = weather.site
    return (f"{abs(site.latitude):.4g}° {'north' if site.latitude >= 0 else 'south'}, {abs(site.longitude):.4g}° "
            f"{'east' if site.longitude >= 0 else 'west'}, {site.altitude:,.0f} m above the sea, times in "
            f"UTC{site.offset:+g}")


def days(weather: Weather | None) -> str:
    """A word of warning where the weather is not a whole year."""
    if weather is None or abs(len(weather) * weather.step / 3600 - 8760) < 25:
        return ""
    return (f"This is no whole year: only {len(weather) * weather.step / 86400:.3g} days were reckoned, as if the year "
            "went on like them. Costs for a decision need a year.")


# -- above the pictures ------------------------------------------------------------------------------------------------


def ranked(group: Group) -> str:
    """What the ranking spans."""
    plants = group.plants
    if len(plants) == 1:
        return f"One plant makes {group.product}; there is nothing to rank it against."
    least, most = plants[0].cost.usd_per_kwh, plants[-1].cost.usd_per_kwh
    return (f"Costs of a kWh of {group.product} run from {cents(least)} US cents ({plants[0].name}) to {cents(most)} "
            f"({plants[-1].name}), a factor of {most / least:.2g}.")


def costs(group: Group) -> str:
    """What the first is made of."""
    best = group.first.cost
    parts = sorted(best.by_component.items(), key=lambda p: -p[1])[:3]
    told = _list([f"{name} with {cents(usd)} ({percent(usd / best.usd_per_kwh, 0)})" for name, usd in parts])
    return (f"Of the {cents(best.usd_per_kwh)} US cents of {group.first.name}, the largest parts are {told}. Each bar "
            "is a plant, each piece of it what one component adds to a kWh; the largest piece is in colour.")


def beside(group: Group) -> str:
    """Where the first stands among others."""
    best = group.first.cost.usd_per_kwh
    words: dict[str, list[str]] = {"less": [], "within": [], "more": []}
    for r in group.references:
        where = "less" if best < r.low else "more" if best > r.high else "within"
        words[where].append(f"{r.name} ({_span(r)})")
    said = [f"{text} {_list(words[where])}" for where, text in (
        ("less", "less than"), ("within", "about as much as"), ("more", "more than")) if words[where]]
    return (f"At {cents(best)} US cents, a kWh of {group.product} from {group.first.name} costs {'; '.join(said)}. "
            "These are costs of others in the money of their own years, not brought to this one.")


def _span(r: Reference) -> str:
    return f"{r.span()}, {r.year}"


def bridged(made: Bridge) -> str:
    """The bridge in words, without its signs."""
    steps = sorted(made.terms, key=lambda t: -abs(t.usd_per_kwh))
    text = (f"A kWh of {made.product} costs {cents(made.start, 2)} US cents from {made.first} and {cents(made.end, 2)} "
            f"from {made.second}.")
    for sign, word in ((1.0, "dearer"), (-1.0, "cheaper")):
        top = [t for t in steps if sign * t.usd_per_kwh > 5e-5][:4]
        if top:
            told = "; ".join(f"{_spoken(t)} ({cents(abs(t.usd_per_kwh), 2)})" for t in top)
            text += f" What makes {made.second} {word}, in US cents: {told}."
    return text


def _spoken(term: BridgeTerm) -> str:
    """A term as one says it: a price of a group, or the losses of a step."""
    group, _, kind = term.name.partition(": ")
    if kind:
        return f"{'capital' if kind == 'capital' else 'running cost'} of {group}"
    return f"losses in {group}" if group in ("optics", "receiver", "pipes", "store", "cycle") else group


def meanings(group: Group) -> dict[str, str]:
    """What the price keys in these plants stand for."""
    return {line.price.key: line.price.doc for a in group.plants for line in (*a.bill, *a.cost.operation_lines)
            if line.price.doc}


def moved(group: Group) -> list[str]:
    """What moves the cost of the first most, and what those numbers are."""
    made, known_keys = group.tornado, meanings(group)
    if made is None:
        return []
    told = [f"{s.what.name} is the price of: {known_keys[s.what.name]}" for s in made.sways[:3]
            if s.what.name in known_keys]
    return [made.sentence(), *([f"{'. '.join(told)}."] if told else [])]


def how_sure(u: Uncertainty) -> list[str]:
    """What the draws say, and how far they can be trusted."""
    worst = max(u.surfaces, key=lambda s: s.error_rms)
    said = list(u.sentences())
    row = u.to_frame().loc[u.contenders[0]]
    if abs(row["50 %"] / row["likely"] - 1.0) > 0.02:
        way = ("above", "up", "down") if row["50 %"] > row["likely"] else ("below", "down", "up")
        said.append(f"The middle of these draws lies {way[0]} the {cents(row['likely'] / 100)} US cents of the likely "
                    f"values, because ranges reach further {way[1]} than {way[2]}.")
    if any(s.inputs for s in u.surfaces):
        said.append(
            f"Physics enter by smooth surfaces through {sum(s.runs for s in u.surfaces):,} runs of the full model, "
            f"whose error is {100 * worst.error_rms:.2g} % in the mean of the worst plant ({worst.plant}) and "
            f"{100 * max(s.error_worst for s in u.surfaces):.2g} % at worst; drawing that error too moves the chances "
            f"by up to {percent(u.surface_effect, 2)}.")
    else:
        said.append("Only prices were drawn, which enter exactly; sun, mirrors, machines and interest were held at "
                    "their likely values, so that the true doubt is larger. These can be drawn as well, on request.")
    said.append(f"All plants were reckoned with the same draws; between low and high they follow a "
                f"{'PERT (beta)' if u.shape == 'pert' else u.shape} distribution.")
    return said


def energy(a: Assessment) -> str:
    """Where the sun of a plant goes."""
    year = a.year
    gains = [f"{100 * kwh / year.sun:.1f} {words}" for kwh, words in (
        (year.net if a.net_power is not None else 0.0, "leave the gate as electricity"),
        (year.heat, "reach the user as heat")) if kwh > 0]
    lost = sorted(year.losses().items(), key=lambda item: -item[1])[:3]
    told = _list([f"{name} ({100 * kwh / year.sun:.1f})" for name, kwh in lost])
    return (f"Of 100 kWh of direct sun on the mirrors in the year, "
            f"{_list(gains) if gains else 'nothing is delivered'}; the largest losses are {told}.")


def circuit(a: Assessment) -> str:
    """What flows how hot in each loop."""
    streams = a.sized.to_frame()
    told = []
    for name, loop in a.plant.loops.items():
        own = streams.loc[streams["loop"] == name, "temperature_degC"]
        told.append(f"{loop.medium.name} of {own.min():.0f} to {own.max():.0f} °C")
    return (f"{_count(len(a.plant.components)).capitalize()} components in {_count(len(a.plant.loops))} "
            f"loop{'s' * (len(a.plant.loops) != 1)}: {_list(told)} at the design point. Each line style is a loop.")


def ran(a: Assessment) -> str:
    """When a plant runs, what it earns and leaves unmet, and what fuel gives in its place."""
    year = a.year
    told = [f"When it runs: {year.dispatch}."]
    if year.revenue is not None:
        told.append(f"At the prices given it earns {year.revenue / 1e6:,.2f} million USD.")
    if year.unmet is not None and year.demand:
        told.append(f"Of the demand of {year.demand / 1e6:,.1f} GWh, {percent(year.unmet / year.demand)} is not met.")
    for helped in a.back_up:
        told.append(f"The plant gives {percent(helped.share)} of what {helped.user} wants; gas gives the rest in "
                    f"{helped.hours:,.0f} hours, for which {helped.fuel / 3.6e12:,.1f} GWh are burnt and "
                    f"{helped.carbon / 1e3:,.0f} t of carbon dioxide let out. The cost is that of both.")
    return " ".join(told)


def known(a: Assessment) -> str:
    """How sure the prices of a plant are, by direct cost."""
    by: dict[str, float] = {}
    for line in a.bill:
        if line.kind == "capital":
            by[line.price.status] = by.get(line.price.status, 0.0) + line.usd
    whole = fsum(by.values()) or 1.0
    told = _list([f"{percent(usd / whole, 0)} {status}" for status, usd in sorted(by.items(), key=lambda s: -s[1])])
    return f"How the prices of {a.name} are known, by direct cost: {told}."


def counted(findings: Findings) -> str:
    """What stands at the head of the page."""
    plants = findings.plants
    if len(plants) == 1:
        return plants[0].plant.title
    goods = _list([group.product for group in findings.groups])
    return f"{_count(len(plants)).capitalize()} plants for {goods}, compared"


def size_of(a: Assessment) -> str:
    """A plant in numbers: mirrors, power, store, capital."""
    power = f"{show(a.net_power, 'W')} net" if a.net_power is not None else "heat alone"
    store = f"a store of {a.store_heat / 1e3:,.0f} MWh of heat" if a.store_heat else "no store"
    return (f"{a.aperture / 1e4:.1f} ha of mirrors, {power}, {store}; {a.cost.capital_usd / 1e6:,.1f} million USD of "
            f"{next(iter(a.bill)).money_year} to build, all on-costs in.")
