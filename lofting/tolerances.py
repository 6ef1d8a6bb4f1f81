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

VISIBLE_BEND = 0.05
"""A hollow or round shallower than this over its length is straight to any eye or plane."""

BEND_WINDOW = 30.0
"""Two firm bends nearer than this along a plank are one stretch: no joint goes between them."""

STEM_SIDING = 40.0
"""Lines ending within this half-breadth end at a stem, wider ones at a transom (half of the
heaviest stem a small boat has)."""

STEM_MEETS = 5.0
"""A line whose end lies this near the stem curve ends on it: a few reading tolerances."""

STRAIGHT = 0.5
"""The centreline edge of a bottom in one piece may stray this far from straight: half a pencil
line, planed away."""

FLAT_ACROSS = 2.0 * READING
"""Centreline and edge of a bottom in one piece may lie this far apart in height and be taken as one
level: each is read and faired within the reading tolerance."""

CLOSES = 0.2
"""A seam that comes together this closely when its panels are folded up is shut: a saw's own
wander is more."""

DRY_FIT = 1.0
"""A seam that stands open this much on the dry fit is worth a look: fillets bridge a millimetre."""
