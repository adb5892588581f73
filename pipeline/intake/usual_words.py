"""What offices write in columns with a word list, and the word of ours that they mean by it."""

from collections.abc import Mapping

# All of this is common practice, no source. Words stand in lower case, parted by commas; blanks, hyphens and
# underscores are alike. Only words that mean one thing in their column: the others are for the firm to say.
USUAL_WORDS: Mapping[str, Mapping[str, str]] = {
    "wall_type": {
        "poured_concrete": "poured, concrete, conc, conc., poured conc, poured conc., pc, cast in place, poured wall, "
        "solid concrete",
        "concrete_block": "block, cmu, cinder block, cinderblock, blocks, conc block, conc. block, masonry block",
        "brick": "bricks, brk",
        "stone": "rubble, fieldstone, field stone, stones, rock",
        "wood_foundation": "wood, pwf, treated wood, wood frame, timber",
    },
    "opening_work": {
        "new_cut": "new, cut, new opening, cut new, new window, cut in",
        "enlarge": "enlarged, enlargement, widen, cut down, larger, bigger, enlarging",
        "replace": "replacement, replaced, swap, replace only, change out, changeout",
    },
    "soil": {
        "sand_gravel": "sand, gravel, sandy, sand/gravel, sand & gravel, sand and gravel, gravelly",
        "loam": "topsoil, dirt, earth, loamy, ordinary",
        "clay": "clayey, heavy clay",
        "hardpan": "hard pan, hard, rocky, stony, caliche",
    },
    "dig_method": {
        "hand": "by hand, hand dig, hand dug, shovel, manual, hand digging",
        "machine": "mini, excavator, mini excavator, mini ex, backhoe, digger, mini digger, by machine, machine dug",
        "none": "no dig, no digging, no",
    },
    "well_type": {
        "steel": "metal, galvanized, galvanised, corrugated, galv, galvanized steel, corrugated steel",
        "composite": "plastic, poly, fiberglass, fibreglass, resin, polyethylene, moulded, molded",
        "masonry": "block, concrete, stone, poured, cmu, brick",
        "timber": "wood, treated timber, treated wood, timbers, ties",
        "none": "no, no well",
    },
    "drain": {
        "gravel_pit": "gravel, dry well, drywell, gravel only, pit, soakaway, stone",
        "footing_drain": "footing, footer, weeping tile, drain tile, tile, footing tile, footer drain, footing drains",
        "sump": "sump pit, sump pump, to sump",
        "none": "no, no drain",
    },
    "phase": {
        "setup": "set up, mobilize, mobilization, unload, layout, lay out, prep, protection",
        "excavation": "dig, digging, excavate, excavation work, excavating, dig out",
        "wall_cutting": "cut, cutting, saw, sawing, saw cutting, saw cut, sawcut, sawcutting, "
        "concrete cutting, wall cut, cut wall, break out, breakout, coring",
        "frame_setting": "frame, framing, set frame, buck, bucks, frame set",
        "window_setting": "window, windows, set window, install window, window install, window set, "
        "window installation",
        "well_setting": "well, set well, install well, well install, window well, well set",
        "drainage": "drain, drains, gravel, drain pipe, drain & gravel",
        "backfill": "back fill, backfilling, fill, grading, backfill & grade",
        "cleanup": "clean up, clean, cleaning, haul, hauling, haul away, cleanup & haul",
        "travel": "drive, driving, drive time, travel time",
        "other": "misc, misc., miscellaneous",
    },
    "item": {
        "window": "windows, egress window, window unit",
        "frame": "frames, buck, bucks, steel frame, window frame",
        "window_well": "well, wells, egress well, window wells",
        "well_cover": "cover, covers, well covers, grate",
        "ladder": "ladders, well ladder",
        "gasket_tape": "butyl, butyl tape, tape, gasket, seal tape, sealing tape",
        "anchor": "anchors, concrete anchor, concrete anchors, anchor bolt, anchor bolts, wedge anchor, wedge anchors",
        "shim": "shims",
        "foam": "spray foam, expanding foam, foam can, window foam, canned foam, low expansion foam",
        "grout": "grouting, non shrink grout",
        "gravel": "stone, pea gravel, drain rock, crushed stone, washed stone, drainage gravel, river rock",
        "drain_pipe": "pipe, drain tile, perforated pipe, weeping tile, corrugated pipe",
        "sealant": "caulk, caulking, silicone, sealer, polyurethane sealant",
        "fastener": "fasteners, screws, screw, bolts, nails, straps, hardware",
        "lintel": "lintels, header, angle iron, steel lintel",
        "blade": "blades, saw blade, saw blades, diamond blade, bit, bits, drill bit, drill bits",
        "lumber": "wood, 2x4, 2x6, plywood, studs, timber",
        "membrane": "waterproofing, waterproof membrane, dampproofing",
        "disposal": "dumpster, dump bag, bin",
        "other": "misc, misc., miscellaneous",
    },
    "unit": {
        "ea": "each, pc, pcs, piece, pieces, unit, units, ea., item, no",
        "ft": "feet, foot, lf, lin ft, linear feet, linear ft, lineal ft, ft.",
        "can": "cans",
        "bag": "bags",
        "ton": "tons, tn",
        "tube": "tubes",
        "yd3": "cy, cu yd, cubic yard, cubic yards, cuyd, yds, yd, yards, yard, yd³, cu. yd.",
        "lb": "lbs, pound, pounds, lb.",
        "gal": "gallon, gallons, gals",
        "roll": "rolls, rl",
        "box": "boxes, bx",
        "sheet": "sheets, sht",
    },
    "category": {
        "permit": "permits, permit fee, inspection, inspection fee, building permit, city permit",
        "subcontract": "sub, subs, subcontractor, subcontractors, sub contract, sub contractor",
        "equipment": "rental, equipment rental, rentals, machine rental, tool rental, hire, tools, "
        "equipment hire, equip",
        "disposal": "dump, dump fee, dump fees, dumping, dumpster, tipping, landfill, haul away",
        "travel": "fuel, gas, lodging, hotel, tolls, mileage, diesel",
        "other": "misc, misc., miscellaneous",
    },
    "squeeze_out": {
        "full": "all, all round, all around, complete, yes, good, 100%",
        "partial": "part, some, partly, spotty",
        "none": "no, nothing",
    },
    "head_bearing": {
        "direct": "on frame, bears, tight",
        "shimmed": "shim, shims, on shims",
        "open": "gap, not bearing",
    },
    "complaint": {
        "leak": "leaks, leaking, leaked, water, water in, water leak, water intrusion",
        "fit": "sticks, binds, sticking, binding, won't close, won't open, will not close, won't latch, drags, stuck, "
        "hard to open",
        "drainage": "well full, well fills, water in well, standing water, well flooded, drain, drain clogged",
        "finish": "draft, draught, drafty, trim, paint, crack, cracks, cosmetic",
        "other": "misc, misc., miscellaneous",
    },
    "outcome": {
        "won": "win, sold, accepted, yes, approved, closed won, awarded",
        "lost": "lose, declined, no, rejected, no sale, closed lost",
        "open": "pending, waiting, no answer, undecided",
    },
}  # fmt: skip
