"""A made year for pictures: a store filled and emptied by plain book-keeping, so that every sum is known."""

from __future__ import annotations

import numpy as np
import pandas as pd

from loopnet.plant import Design, Plant
from loopnet.year import Year

DRAW, DELIVERY, AREA = 50e6, 20e6, 3e5  # W of heat at full load, W of power, m2 of mirrors
BLACK = (100, 101, 102)
"""Days without sun."""
HEADS = ("sun", "collected", "to_store", "from_store", "gross", "parasitic", "net", "store", "load", "charging",
         "warming", "defocused", "generating", "starting", "hot", "cold", "delivered", "frost")


def made_year(days: int = 365, *, hours: float = 14.0, step: float = 3600.0, black: tuple[int, ...] = BLACK,
              electric: bool = True, kept: bool = True, title: str = "Made plant", start: str = "2001-01-01") -> Year:
    """A plant under a clear sky but for some black days; full load as long as a store of so many hours has heat."""
    n = round(days * 86400 / step)
    index = pd.date_range(start, periods=n, freq=pd.Timedelta(seconds=step), tz="Etc/GMT+7", name="start")
    clock = (np.arange(n) * step / 3600.0) % 24.0 + step / 7200.0
    day = (np.arange(n) * step // 86400).astype(int)
    season = 1.0 - 0.35 * np.cos(2 * np.pi * day / 365)
    sun = AREA * 900.0 * np.clip(np.sin(np.pi * (clock - 6.0) / 12.0), 0.0, None) * season / 1.35
    sun[np.isin(day, black)] = 0.0
    table = {name: np.zeros(n) for name in HEADS} | {"sun": sun}
    most, held = hours * 3600.0 * DRAW if kept else 0.0, 0.0
    for i in range(n):
        could = 0.5 * sun[i]
        if kept:
            drawn = min(DRAW, held / step)
            held -= drawn * step
            taken = min(could, (most - held) / step)
            held += taken * step
            load = float(drawn >= 0.25 * DRAW)
            share = drawn / DRAW if load else 0.0
            held += (1.0 - load) * drawn * step  # too little heat stays where it is
            drawn *= load
            share = drawn / DRAW
        else:
            drawn, taken = 0.0, min(could, DRAW)
            load = taken / DRAW if taken >= 0.25 * DRAW else 0.0
            taken, share = taken * (load > 0.0), float(load > 0.0)
        row = {"collected": taken, "to_store": taken if kept else 0.0, "from_store": drawn, "store": held,
               "load": load, "generating": share, "charging": taken / could if could and kept else 0.0,
               "defocused": 1.0 - taken / could if could else 0.0,
               "gross": load * share * 1.1 * DELIVERY if electric else 0.0, "parasitic": 0.02 * taken * electric}
        for name, value in row.items():
            table[name][i] = value
    table["net"] = table["delivered"] = table["gross"] - table["parasitic"]
    kinds = {"sun": "sun", "gross": "power", "parasitic": "electricity"}
    ledger = pd.DataFrame([("made", name, kind, float(table[name].sum() * step)) for name, kind in kinds.items()],
                          columns=["component", "label", "kind", "joule"])
    plant = Plant("made", title=title, design=Design(net_power=DELIVERY if electric else None))
    return Year(plant, "made sky", ledger, pd.DataFrame(table, index=index), step, 0.0, 5.0, "made", (), 0)
