"""Closed word lists: what each word means, in one sentence."""

from collections.abc import Mapping

WALL_TYPE: Mapping[str, str] = {
    "poured_concrete": "Cast in place concrete foundation wall.",
    "concrete_block": "Hollow or grouted concrete masonry units.",
    "brick": "Clay brick, one wythe or more.",
    "stone": "Rubble or cut stone laid in mortar.",
    "wood_foundation": "Treated wood framed foundation wall.",
}
OPENING_WORK: Mapping[str, str] = {
    "new_cut": "A new hole is cut where the wall was whole.",
    "enlarge": "An existing opening is cut larger.",
    "replace": "The window is replaced in the opening as it stands.",
}
SOIL: Mapping[str, str] = {
    "sand_gravel": "Sand, gravel or a mix that drains well.",
    "loam": "Ordinary earth.",
    "clay": "Clay, which drains badly and holds to the shovel.",
    "hardpan": "Cemented or stony ground that must be picked.",
}
DIG_METHOD: Mapping[str, str] = {
    "hand": "Dug by shovel.",
    "machine": "Dug by an excavator or another machine.",
    "none": "No digging: a replacement in a standing well.",
}
WELL_TYPE: Mapping[str, str] = {
    "none": "No well.",
    "steel": "Corrugated or formed steel well.",
    "composite": "Moulded composite or plastic well.",
    "masonry": "Block, stone or poured well.",
    "timber": "Well built of treated timber.",
}
DRAIN: Mapping[str, str] = {
    "none": "No drain under the well.",
    "gravel_pit": "Gravel only, soaking away into the ground.",
    "footing_drain": "Piped to the foundation's own drain.",
    "sump": "Piped to a sump.",
}
PHASE: Mapping[str, str] = {
    "setup": "Unload, protect the yard and the room, lay out; once per job.",
    "excavation": "Dig outside the wall.",
    "wall_cutting": "Drill, saw and break out the wall.",
    "frame_setting": "Gasket, place, shim and anchor the frame.",
    "window_setting": "Set, plumb, fix and foam the window.",
    "well_setting": "Place and fix the well.",
    "drainage": "Gravel and drain under the well.",
    "backfill": "Fill in lifts and grade away from the wall.",
    "cleanup": "Haul wall and spoil, clean the room.",
    "travel": "Driving; once per job.",
    "other": "Anything else.",
}
ITEM: Mapping[str, str] = {
    "window": "The window unit.",
    "frame": "The steel frame set in the cut wall.",
    "window_well": "The well outside the window.",
    "well_cover": "A cover over the well.",
    "ladder": "A fixed ladder in the well.",
    "gasket_tape": "Butyl tape between frame and wall.",
    "anchor": "Anchors that hold the frame to the wall.",
    "shim": "Shims under and beside the frame.",
    "foam": "Low-expansion foam round the window.",
    "grout": "Grout behind a frame that stands off the wall.",
    "gravel": "Drainage gravel.",
    "drain_pipe": "Pipe from the well to the drain.",
    "sealant": "Sealant in tubes.",
    "fastener": "Screws, straps, bolts.",
    "lintel": "Lintel or header over the opening.",
    "blade": "Saw blades and bits used up.",
    "lumber": "Bucks, shoring and forms.",
    "membrane": "Waterproofing membrane.",
    "disposal": "Bags or bins bought as material.",
    "other": "Anything else.",
}
UNIT: Mapping[str, str] = {
    "ea": "Each.",
    "ft": "Foot of length.",
    "can": "Can.",
    "bag": "Bag.",
    "ton": "Short ton of 2,000 lb.",
    "tube": "Tube.",
    "yd3": "Cubic yard.",
    "lb": "Pound.",
    "gal": "US gallon.",
    "roll": "Roll.",
    "box": "Box.",
    "sheet": "Sheet.",
}
CATEGORY: Mapping[str, str] = {
    "permit": "Permit and inspection fees.",
    "subcontract": "Work bought from another firm.",
    "equipment": "Hire of machines and tools.",
    "disposal": "Tipping and haulage fees.",
    "travel": "Fuel, lodging, tolls.",
    "other": "Anything else.",
}
SQUEEZE_OUT: Mapping[str, str] = {
    "full": "Butyl shows all the way round.",
    "partial": "Butyl shows on part of the frame.",
    "none": "No butyl shows.",
}
HEAD_BEARING: Mapping[str, str] = {
    "direct": "The head bears on the frame directly.",
    "shimmed": "The head bears through shims.",
    "open": "The head does not bear.",
}
COMPLAINT: Mapping[str, str] = {
    "leak": "Water comes in at the window.",
    "fit": "The sash binds, drags or will not latch.",
    "drainage": "Water stands in the well.",
    "finish": "Draught, trim, paint, cracks.",
    "other": "Anything else.",
}
OUTCOME: Mapping[str, str] = {
    "won": "The customer accepted.",
    "lost": "The customer declined.",
    "open": "Not decided yet.",
}

READINGS: Mapping[str, str] = {
    "substrate_temp_f": "wall temperature",
    "gasket_gap_in": "gap in the gasket",
    "anchor_count": "number of anchors",
    "anchor_torque_max_lbft": "highest anchor torque",
    "anchor_torque_min_lbft": "lowest anchor torque",
    "frame_bow_in": "bow of the frame",
    "diagonal_difference_in": "difference of the diagonals",
    "plumb_error_in": "plumb error",
    "reveal_min_in": "smallest reveal",
    "reveal_max_in": "largest reveal",
    "depth_below_grade_in": "depth of the dig",
    "precipitation_in": "rain on the setting day",
    "temp_min_f": "lowest temperature of the setting day",
    "temp_max_f": "highest temperature of the setting day",
}

WORDS: Mapping[str, Mapping[str, str]] = {
    "wall_type": WALL_TYPE,
    "opening_work": OPENING_WORK,
    "soil": SOIL,
    "dig_method": DIG_METHOD,
    "well_type": WELL_TYPE,
    "drain": DRAIN,
    "phase": PHASE,
    "item": ITEM,
    "unit": UNIT,
    "category": CATEGORY,
    "squeeze_out": SQUEEZE_OUT,
    "head_bearing": HEAD_BEARING,
    "complaint": COMPLAINT,
    "outcome": OUTCOME,
}

JOB_LEVEL_PHASES = ("setup", "travel")
CAUSES = ("leak", "fit", "drainage")
