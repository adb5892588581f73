"""The opening most tests of quotes ask for, as options of the command."""

WALL = ["--wall_type", "poured_concrete", "--opening_work", "new_cut", "--wall_thickness_in", "8"]
SIZE = ["--rough_width_in", "48", "--rough_height_in", "48", "--depth_below_grade_in", "60"]
OUTSIDE = ["--well_type", "steel", "--soil", "clay", "--dig_method", "machine", "--drain", "gravel_pit"]
ONE = [*WALL, *SIZE, *OUTSIDE]
