"""Closed meshes of solids with known hydrostatics, mm, outward, base at z = 0."""

import numpy as np

from lofting.hydrostatics import mirror_closed
from lofting.hydrostatics.attitude import mesh_volume


def prism(length, section):
    """A prism of a half section (n, 2) of (y, z) running from the centreline up to the sheer."""
    return lofted(np.array([0.0, length]), np.array([section, section], dtype=float))


def lofted(xs, half_sections, ys_zs=None):
    """A hull from stations xs (m,) and half sections (m, n, 2) of (y, z), keel to sheer."""
    sections = np.asarray(half_sections, dtype=float)
    m, n, _ = sections.shape
    points = np.concatenate(
        [np.broadcast_to(np.asarray(xs, dtype=float)[:, None, None], (m, n, 1)), sections], axis=2
    ).reshape(-1, 3)
    i, j = np.meshgrid(np.arange(m - 1), np.arange(n - 1), indexing="ij")
    a = (i * n + j).ravel()
    faces = np.concatenate(
        [np.stack([a, a + n, a + n + 1], axis=1), np.stack([a, a + n + 1, a + 1], axis=1)]
    )
    vertices, triangles = mirror_closed(points, faces)
    if mesh_volume(vertices, triangles) < 0:
        triangles = triangles[:, ::-1]
    return vertices, triangles


def box(length, breadth, depth):
    return prism(length, [(0, 0), (breadth / 2, 0), (breadth / 2, depth)])


def vee(length, breadth, depth, height):
    """Apex down; breadth at z = depth; sides carried on in the same plane up to height."""
    return prism(length, [(0, 0), (breadth / 2 * height / depth, height)])


def flared(length, bottom, flare, height):
    """Flat bottom, sides flared by `flare` rad from upright."""
    return prism(length, [(0, 0), (bottom / 2, 0), (bottom / 2 + height * np.tan(flare), height)])


def cylinder(length, radius, sides=720):
    angle = np.linspace(-np.pi / 2, np.pi / 2, sides // 2 + 1)
    section = np.stack([radius * np.cos(angle), radius + radius * np.sin(angle)], axis=1)
    section[[0, -1], 0] = 0.0
    return prism(length, section)


def wigley(length, breadth, draught, count=121, levels=81):
    """The parabolic hull up to its design waterline at z = draught, wall-sided above it by as
    much again, so that it floats there."""
    x = np.linspace(-1, 1, count)
    z = np.linspace(-1, 0, levels)
    y = breadth / 2 * (1 - x[:, None] ** 2) * (1 - z[None, :] ** 2)
    half = np.stack([y, np.broadcast_to((z + 1) * draught, y.shape)], axis=2)
    top = half[:, -1:, :].copy()
    top[:, :, 1] += draught
    return lofted((x + 1) * length / 2, np.concatenate([half, top], axis=1))
