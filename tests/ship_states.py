"""Make loopnet/data/coolprop.npz anew: run the shipped plants and keep every sweep of CoolProp they ask for."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from loopnet.media import shipped
from loopnet.plants import find_plant
from loopnet.plants import shipped as names
from loopnet.site import tamarisk_basin
from loopnet.study import assess


def main() -> None:
    shipped._recorder = {}
    for name in names():
        assess(find_plant(name), tamarisk_basin())
    data = {key: np.vstack(sweep) for key, sweep in shipped._recorder.items()}
    path = Path(shipped.__file__).parents[1] / "data" / shipped.FILE
    np.savez_compressed(path, allow_pickle=False, **data)
    print(f"{len(data)} sweeps, {sum(d.shape[1] for d in data.values())} states, {path.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
