"""The names that expressions in rule files may use, each with a sample value that tells its type.

Numbers are SI; text and true or false are as the yard and harvest files say. The samples are invented and only type-check expressions.
"""

from __future__ import annotations

from typing import Final

from scheduler.facts.season import MARKS_AND_EDGES, SPANS

Sample = float | bool | str

_LOT: Final[dict[str, Sample]] = {
    "id": "a",
    "kind": "cut comb",
    "frame": "shallow",
    "frames": 5.0,
    "boxes": 1.0,
    "moisture": 0.174,
    "moisture_known": True,
    "capped": 0.95,
    "pieces": 20.0,
    "packages": 18.0,
    "chunk_pieces": 2.0,
    "jars": 2.0,
    "chunk_jars": 2.0,
    "piece_mass": 0.3,
    "piece_volume": 0.0003,
    "package_volume": 0.0006,
    "length": 0.1,
    "width": 0.1,
    "thickness": 0.03,
    "package": "clamshell",
    "mass": 6.0,
    "honey_mass": 5.5,
    "comb_temperature": 21.0,
    "yeast": -1.0,
    "disease": False,
    "treated": False,
    "beetle": False,
    "vessel_depth": 0.4,
}
_HARVEST: Final[dict[str, Sample]] = {
    "id": "ridge-2",
    "hives": 2.0,
    "frames": 19.0,
    "boxes": 2.0,
    "lots": 2.0,
    "has_cut_comb": True,
    "has_extracted": True,
    "has_chunk": True,
    "has_dry_comb": True,
    "sold": True,
}
_YARD: Final[dict[str, Sample]] = {
    "units": "metric",
    "moisture_limit": 0.186,
    "open_cleaning_lawful": False,
    "open_cleaning_distance": 100.0,
    "fumigant": False,
    "starter_strips": True,
    "container_lead": 1_209_600.0,
    "sells": True,
}

VOCABULARY: Final[dict[str, dict[str, Sample]]] = {
    "lot": _LOT,
    "harvest": _HARVEST,
    "yard": _YARD,
    "room": {"temperature": 21.0, "humidity": 0.55},
    "store": {"known": True, "temperature": 12.0, "humidity": 0.6},
    "freezer": {"known": True, "temperature": -18.0, "space": 0.09, "air": "still", "rated": 0.0001, "surface": -1.0},
    "season": {anchor.replace(" ", "_"): True for anchor in (*MARKS_AND_EDGES, *SPANS)},
    "batch": {"count": 6.0, "of": 2.0, "mass": 1.8, "volume": 0.004},
}
"""Names by the variable they belong to; `param` is added for each rule set from its own parameters."""
