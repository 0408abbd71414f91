"""A builder's bill of materials: what goes into one collector, line by line, and the prices that its sums become."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import fsum, isfinite, log2
from typing import TYPE_CHECKING, Any

from loopnet.errors import ParameterError
from loopnet.money.book import PriceBook
from loopnet.money.entry import FIELDS, refuse_unknown
from loopnet.money.prices import Price
from loopnet.params import Parameters, param
from loopnet.units import to_si

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["BillOfMaterials", "Part", "volume_factor"]

_PRACTICE = "common practice, no source"


def volume_factor(learning: float, pieces: float, reference: float) -> float:
    """What each costs when many are made, over what it costs at a reference number, (N / N0)^log2(1 - L).

    Parameters
    ----------
    learning : float
        Share saved by each doubling of the number made [-].
    pieces, reference : float
        Number made, and number for which the price holds [-].

    Returns
    -------
    float
        Factor [-].

    References
    ----------
    T. P. Wright, Factors affecting the cost of airplanes, J. Aeronautical Sciences 3 (1936) 122, from memory: each
    doubling saves a fixed share, there 20 % of the labour.

    Examples
    --------
    >>> round(volume_factor(0.2, 800, 100), 3)
    0.512
    """
    return float((pieces / reference) ** log2(1.0 - learning))


@dataclass(frozen=True, kw_only=True)
class Part(Parameters):
    """One line of a bill of materials: a material, a bought piece, or hours of labour in one collector."""

    name: str
    price: Price
    """With its range, year, source and status; its key is the price of the book that the part belongs to."""
    quantity: Any
    """In one finished collector [SI of the price's unit], or text with a unit."""
    waste: float = param(0.0, unit="-", low=0.0, high=5.0, source=_PRACTICE,
                         doc="bought beyond what stays: cuttings, breakage; idle hours of labour")
    learning: float = param(0.0, unit="-", low=0.0, high=0.5, source="Wright (1936), from memory: labour 0.2",
                            doc="share saved by each doubling of the number of collectors")

    def __post_init__(self) -> None:
        super().__post_init__()
        try:
            amount = to_si(self.quantity, self.price.si_unit)
        except ParameterError as why:
            raise ParameterError(why.what, where=f"{self.name}.quantity", got=why.got, allowed=why.allowed,
                                 hint=f"a quantity in {self.price.quantity_unit}") from None
        if not isfinite(amount) or amount < 0.0:
            raise ParameterError("a part needs a quantity of zero or more", where=f"{self.name}.quantity",
                                 got=f"{amount:g}", allowed=f"0 {self.price.si_unit} or more", hint="quantity of one "
                                 "collector")
        object.__setattr__(self, "quantity", amount)
        if self.price.kind != "capital":
            raise ParameterError("a yearly cost is no part of a collector", where=f"{self.name}.unit",
                                 got=repr(self.price.unit), allowed="a price without /y",
                                 hint="a price of its own in the price book")


@dataclass(frozen=True, kw_only=True)
class BillOfMaterials(Parameters):
    """What one collector is made of, and what that makes a square metre cost.

    Parts that belong to the same price of the book are added up; `into` puts the sums into a price book. Money is that
    of the book, whose indices and exchange rates bring each part's price there.
    """

    title: str
    parts: tuple[Part, ...]
    aperture: float = param(unit="m^2", low=1e-3, high=1e5, source="user", doc="of one collector")
    length: float | None = param(None, unit="m", low=1e-2, high=1e4, source="user", optional=True,
                                 doc="of one collector's receiver, for prices per length")
    pieces: float = param(1.0, unit="-", low=1.0, high=1e9, source="user", doc="collectors to be made")
    reference: float = param(1.0, unit="-", low=1.0, high=1e9, source="user", doc="number for which the prices hold")
    invented: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        names = [part.name for part in self.parts]
        if not names or len(set(names)) < len(names):
            raise ParameterError("a bill of materials has parts, each of its own name", where=self.title,
                                 got=", ".join(names) or "none", allowed="different names", hint="rename one")

    def __getitem__(self, name: str) -> Part:
        for part in self.parts:
            if part.name == name:
                return part
        raise ParameterError("no such part", where=self.title, got=repr(name),
                             allowed=", ".join(part.name for part in self.parts), hint="one of these")

    def with_part(self, name: str, **changes: Any) -> BillOfMaterials:
        """A new bill in which one part is changed.

        Parameters
        ----------
        name : str
            The part.
        **changes : float or str
            ``quantity``, ``waste``, ``learning``, or fields of its `Price` such as ``value`` [in the price's unit].

        Returns
        -------
        BillOfMaterials
            The new bill; a changed price is the user's, and a range that does not hold it is widened.
        """
        old, price = self[name], {}
        for field in set(changes) & FIELDS:
            price[field] = changes.pop(field)
        known = {"quantity", "waste", "learning"} | FIELDS
        refuse_unknown(changes, known, f"{self.title}.{name}", "a part has no such field")
        if price:
            value = price.get("value", old.price.value)
            changes["price"] = replace(old.price, **{
                "low": min(old.price.low, value), "high": max(old.price.high, value), "status": "user",
                "source": f"user; before: {old.price.source}", **price})
        new = replace(old, **changes)
        return replace(self, parts=tuple(new if part is old else part for part in self.parts))

    def cost(self, part: Part, book: PriceBook, which: str = "value") -> float:
        """What a part costs in one collector, waste and volume effect within [USD of the book's year].

        Parameters
        ----------
        part : Part
            One of the parts.
        book : PriceBook
            Whose money, indices and exchange rates are used.
        which : str
            ``"value"``, ``"low"`` or ``"high"`` price.

        Returns
        -------
        float
            Cost [USD per collector].
        """
        amount = part.price.amount(part.quantity * (1.0 + part.waste))
        here = book.to_money_year(getattr(part.price, which) * amount, part.price)
        return here * volume_factor(part.learning, self.pieces, self.reference)

    def per_area(self, book: PriceBook, which: str = "value") -> float:
        """All parts together [USD/m2 of aperture]; for ``"low"`` and ``"high"`` every part is at that end at once."""
        return fsum(self.cost(part, book, which) for part in self.parts) / self.aperture

    def to_frame(self, book: PriceBook) -> pd.DataFrame:
        """One row a part: quantity with waste, price, volume effect, cost of one collector and of a square metre."""
        import pandas as pd

        rows = []
        for part in self.parts:
            usd, price = self.cost(part, book), part.price
            rows.append({
                "part": part.name, "for": price.key, "unit": price.quantity_unit,
                "quantity": price.amount(part.quantity), "waste": part.waste, "price": price.value,
                "volume factor": volume_factor(part.learning, self.pieces, self.reference), "USD each": usd,
                "USD/m2": usd / self.aperture, "life": price.life, "status": price.status, "source": price.source})
        return pd.DataFrame(rows)

    def prices(self, book: PriceBook) -> dict[str, Price]:
        """The sums as prices, by key: per aperture, or per length where the book's price is.

        Raises
        ------
        ParameterError
            If the book has no such key, its price is per something else, or parts of one price have different lives.
        """
        return {key: self._sum(key, [p for p in self.parts if p.price.key == key], book)
                for key in dict.fromkeys(part.price.key for part in self.parts)}

    def _sum(self, key: str, parts: list[Part], book: PriceBook) -> Price:
        old, lives = book[key], sorted({p.price.life for p in parts if p.price.life is not None})
        if len(lives) > 1:
            raise ParameterError("parts of one price are bought again at different times", where=f"{self.title}: {key}",
                                 got=", ".join(f"{life:g} years" for life in lives), allowed="one life",
                                 hint="another price of the book for one of them")
        sizes = {"m2": self.aperture, "m": self.length}
        per = sizes.get(old.quantity_unit)
        if per is None or old.kind != "capital":
            raise ParameterError("a bill of materials makes prices per area or per length",
                                 where=f"{self.title}: {key}", got=old.unit,
                                 allowed="a price per m2; one per m where the bill has a length",
                                 hint="another key, or length")
        value, low, high = (fsum(self.cost(p, book, w) for p in parts) / per for w in ("value", "low", "high"))
        again = fsum(self.cost(p, book) for p in parts if p.price.life is not None) / per
        names = ", ".join(p.name for p in parts)
        return Price(key=key, value=value, low=low, high=high, unit=f"USD/{old.quantity_unit}", year=book.money_year,
                     life=lives[0] if lives else None, renewed=again / value if lives and value else 1.0, doc=old.doc,
                     status="user", source=f"bill of materials '{self.title}'{' (invented)' if self.invented else ''}: "
                                           f"{names}")

    def into(self, book: PriceBook) -> PriceBook:
        """The book with the sums in the place of its own prices.

        Parameters
        ----------
        book : PriceBook
            The prices to be changed.

        Returns
        -------
        PriceBook
            The new book.

        Examples
        --------
        >>> from loopnet.money import bill_of_materials, price_book
        >>> mine = bill_of_materials("tamarisk_trough").into(price_book())
        >>> mine["collector.reflector_film"].life
        4
        """
        return replace(book, prices={**book.prices, **self.prices(book)}, title=f"{book.title} and {self.title}")

    def __repr__(self) -> str:
        return f"<BillOfMaterials {self.title}: {len(self.parts)} parts, {self.aperture:g} m2, {self.pieces:g} pieces>"
