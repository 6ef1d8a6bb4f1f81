"""Plankings of known shape, made from closed forms: a box with flared sides, a half round trough
that is a cone or a cylinder. Nothing of the planking stage is used."""

from dataclasses import dataclass

import numpy as np

from lofting.battens import spring
from lofting.bending import BendReport, Grade
from lofting.fairing import FairLine, Lines
from lofting.offsets import Face, Role
from lofting.planking import Plank, Planking, PlankingSettings, PlankSpec

Array = np.ndarray


def zigzag(count: int) -> Array:
    """Rulings of a strip with `count` points on both edges, lower edge first."""
    i = np.arange(count - 1)
    steps = np.empty((2 * count - 1, 2), dtype=np.intp)
    steps[0::2] = np.column_stack([np.arange(count), np.arange(count)])
    steps[1::2] = np.column_stack([i + 1, i])
    return steps


def no_bend(count: int, hard: tuple[tuple[float, float], ...] = ()) -> BendReport:
    flat = np.full(count, np.inf)
    return BendReport(
        flat, np.zeros(count), np.zeros(count), flat, (Grade.EASY,) * count, Grade.EASY, hard
    )


def line(name: str, role: Role, points: Array) -> FairLine:
    few = points[:: max(1, (len(points) - 1) // 10)]
    batten = spring(few)
    return FairLine(
        name,
        role,
        tuple(str(i) for i in range(len(few))),
        few,
        few,
        batten,
        batten,
        np.ones((len(few), 3)),
        0,
        0,
        np.zeros((len(few), 2)),
        np.zeros((len(few), 2)),
    )


@dataclass(frozen=True)
class Sheets:
    """One plank's edges on its three sheets and flat, all (n, d)."""

    drawn: tuple[Array, Array]
    mid: tuple[Array, Array]
    inner: tuple[Array, Array]
    flat: tuple[Array, Array]
    normals: tuple[Array, Array]


def plank(spec: PlankSpec, sheets: Sheets, hard: tuple[tuple[float, float], ...] = ()) -> Plank:
    count = len(sheets.drawn[0])
    rulings = zigzag(count)
    position = 0.5 * (sheets.flat[0][rulings[:, 0], 0] + sheets.flat[1][rulings[:, 1], 0])
    return Plank(
        spec,
        sheets.drawn[0],
        sheets.drawn[1],
        (0, count - 1),
        (0, count - 1),
        rulings,
        sheets.normals[0],
        sheets.normals[1],
        sheets.mid[0],
        sheets.mid[1],
        sheets.inner[0],
        sheets.inner[1],
        sheets.flat[0],
        sheets.flat[1],
        np.zeros(len(rulings)),
        position,
        no_bend(len(rulings), hard),
        0.0,
        face_lower=sheets.inner[0],
        face_upper=sheets.inner[1],
    )


def flared_box(
    length: float = 3000.0,
    half_bottom: float = 400.0,
    height: float = 350.0,
    flare: float = np.radians(20.0),
    bottom: float = 9.0,
    side: float = 6.0,
    count: int = 121,
    whole: bool = True,
    rake: float = 0.0,
) -> Planking:
    """A flat bottom (outside at z 0) and flat sides leaning out by `flare`, inner corners
    touching. It ends at x 0 and in the plane x = length + z tan(rake); the mid-thickness and
    inside edges end level with the outside ones, short of that plane."""
    x = np.linspace(0.0, length, count)
    x_sheer = np.linspace(0.0, length + height * np.tan(rake), count)

    def along(y: float, z: float) -> Array:
        top = z > 0.5 * height
        return np.column_stack([x_sheer if top else x, np.full(count, y), np.full(count, z)])

    out = np.array([np.cos(flare), -np.sin(flare)])
    up = np.array([np.sin(flare), np.cos(flare)])
    chine = np.array([half_bottom, 0.0])
    sheer = chine + height / np.cos(flare) * up
    # inner corner: on z = bottom and on the side's inside plane
    corner_out = chine - side * out
    corner = corner_out + (bottom - corner_out[1]) / up[1] * up
    sheer_in = sheer - side * out
    down = np.array([0.0, -1.0])
    keel = np.zeros(2)
    inner_keel = np.array([0.0, bottom])

    def three(a: Array, b: Array) -> tuple[Array, Array]:
        return along(*a), along(*b)

    def flat(width: float, top: bool = False) -> tuple[Array, Array]:
        return (
            np.column_stack([x, np.zeros(count)]),
            np.column_stack([x_sheer if top else x, np.full(count, width)]),
        )

    def normals(n: Array) -> tuple[Array, Array]:
        n3 = np.tile([0.0, n[0], n[1]], (count, 1))
        return n3, n3

    half_b, half_s = 0.5 * bottom * down, 0.5 * side * out
    mid_b = (inner_keel + half_b, corner + half_b)
    mid_s = (corner + half_s, sheer_in + half_s)
    planks = (
        plank(
            PlankSpec("bottom", "keel", "chine", bottom, "okoume", whole),
            Sheets(
                three(keel, chine),
                three(*mid_b),
                three(inner_keel, corner),
                flat(float(np.hypot(*(mid_b[1] - mid_b[0])))),
                normals(down),
            ),
        ),
        plank(
            PlankSpec("side", "chine", "sheer", side, "okoume"),
            Sheets(
                three(chine, sheer),
                three(*mid_s),
                three(corner, sheer_in),
                flat(float(np.hypot(*(mid_s[1] - mid_s[0]))), True),
                normals(out),
            ),
            ((0.0, 500.0),),
        ),
    )
    lines = Lines(
        (
            line("keel", Role.KEEL, along(*keel)),
            line("chine", Role.CHINE, along(*chine)),
            line("sheer", Role.SHEER, along(*sheer)),
        ),
        tuple((str(k), float(v)) for k, v in enumerate(np.linspace(0.0, length, 7)[1:-1], 1)),
        Face.OUTSIDE,
    )
    return Planking(planks, (), lines, PlankingSettings(tuple(p.spec for p in planks)))


def trough(
    radius: float = 500.0,
    slope: float = 0.0,
    length: float = 2000.0,
    thickness: float = 6.0,
    count: int = 400,
) -> Planking:
    """One plank a side, a quarter round from the keel below the axis (height 0) to the sheer at
    its height: radius + slope x outside. slope 0 is a cylinder, else a cone about the x axis.

    The rulings run fore and aft, so the strip's two edges are the arcs at both ends.
    """
    beta = np.arctan(slope)
    theta = np.linspace(-0.5 * np.pi, 0.0, count)

    def arc(x: float, inset: float) -> Array:
        r = radius + slope * x - inset / np.cos(beta)
        return np.column_stack([np.full(count, x), r * np.cos(theta), r * np.sin(theta)])

    normal = np.column_stack(
        [
            np.full(count, -np.sin(beta)),
            np.cos(beta) * np.cos(theta),
            np.cos(beta) * np.sin(theta),
        ]
    )

    def flat(x: float) -> Array:
        r = radius + slope * x - 0.5 * thickness / np.cos(beta)
        if slope == 0.0:
            return np.column_stack([r * (theta + 0.5 * np.pi), np.full(count, -x)])
        slant = r / np.sin(beta)
        turned = (theta + 0.5 * np.pi) * np.sin(beta)
        return slant[..., None] * np.column_stack([np.sin(turned), -np.cos(turned)])

    spec = PlankSpec("skin", "after arc", "fore arc", thickness, "okoume")
    sheets = Sheets(
        (arc(length, 0.0), arc(0.0, 0.0)),
        (arc(length, 0.5 * thickness), arc(0.0, 0.5 * thickness)),
        (arc(length, thickness), arc(0.0, thickness)),
        (flat(length), flat(0.0)),
        (normal, normal),
    )
    skin = plank(spec, sheets)
    lines = Lines(
        (
            line("after arc", Role.KEEL, sheets.drawn[0]),
            line("fore arc", Role.SHEER, sheets.drawn[1]),
        ),
        (),
        Face.OUTSIDE,
    )
    return Planking((skin,), (), lines, PlankingSettings((spec,)))
