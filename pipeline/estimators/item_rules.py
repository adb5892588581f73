"""What each material is measured by: its take-off quantity, and the condition under which it is bought at all."""

# Items that come one to an opening, by rule.
ONE_EACH = ("window", "frame", "window_well")
# Items of which an opening has one or none; the condition their share is counted by.
ONE_OR_NONE = {"well_cover": "well_type", "ladder": "deep_well", "lintel": "cut_wall"}
ONLY_WITH_A_WELL = ("window_well", "well_cover", "ladder")
# The quantities an item may follow, likeliest first: the firm's own purchases choose. House rule.
DRIVERS: dict[str, tuple[str, ...]] = {
    "gasket_tape": ("gasket",),
    "anchor": ("anchors", "gasket"),
    "shim": ("shims", "gasket"),
    "foam": ("foam",),
    "sealant": ("sealant",),
    "fastener": ("anchors", "gasket", "opening"),
    "grout": ("grout", "cut_area", "gasket"),
    "gravel": ("gravel", "well_face"),
    "drain_pipe": ("drain_pipe",),
    "lintel": ("lintel",),
    "blade": ("cut_area", "cut_length"),
    "lumber": ("gasket", "cut_area", "opening"),
    "membrane": ("well_face", "opening_area", "gasket"),
    "disposal": ("removed_wall", "debris_weight", "loose_spoil"),
    "other": ("opening", "opening_area"),
}
# What a usage item's share of openings is counted by.
SHARE_CONDITION = "opening_work"
# Items whose price follows a word or a size of the opening when the spec has no price.
PRICED_BY_AREA = ("window", "frame")
SPEC_COLUMN = {"window": "window_spec", "window_well": "well_spec"}
