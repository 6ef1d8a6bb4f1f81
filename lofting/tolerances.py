"""Every tolerance of the geometry in one place, each with its reason (mm, rad)."""

from math import radians

READING = 1.5
"""How far a figure read off a plan may be from what the draughtsman meant (common practice)."""

SAMPLES_PER_LINE = 200
"""Points along a long line: the ruling search is second order, 200 give 0.002 mm on a cone."""

OUTLINE = 0.02
"""Greatest departure allowed when an outline is thinned; a tenth of a knife line."""

MARKING = 0.5
"""A batten sprung through the marks may stray this far from the true edge: half a pencil line."""

ROUNDING = 0.5
"""The finest step a builder sets off with a steel rule."""

SEAM = 1.0
"""Mating edges may differ this much in length before it is worth a look."""

TWIST = radians(3.0)
"""Twist along a ruling that sheet material takes without complaint (rule of thumb, no source)."""

COINCIDENT = 1e-3
"""Points closer than this are one point; a thousandth of what can be sawn."""

PLANAR = 1.5
"""How far the corners of a transom may lie off one plane: the reading tolerance."""
