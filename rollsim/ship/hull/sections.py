"""What of the sections lies under a plane of water: areas and moments, exact for polygons.

At the heel φ the earth's vertical is v = −y sin φ + z cos φ and the horizontal across the ship is
w = y cos φ + z sin φ. The water stands at v = h0 + t x + η(x) in the section at x, with t the
tangent of the trim and η a wave. By Green's theorem the area under water is ∮ w dv, its moments are
∮ ½ w² dv about the vertical and ∮ w v dv about the horizontal, along the outline up to the water:
the closing side lies in the water, where dv = 0, so that no outline need be cut up, however it
winds.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled

if TYPE_CHECKING:
    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


class Turned(NamedTuple):
    """Sections at a heel: place and share of the length [m], wave elevation [m], vertices in w, v.

    `lowest`, `highest` [m] are the least and greatest v of each section.
    """

    along: Floats
    share: Floats
    first: Integers
    wave: Floats
    w: Floats
    v: Floats
    lowest: Floats
    highest: Floats


class Immersed(NamedTuple):
    """Sums over the sections under a plane of water.

    Volume [m³] and its moments [m⁴]: `along` the ship, `across` (w) and `up` (v); the waterplane:
    `plane` area [m²], first moments along (`plane_x`) and across (`plane_w`) [m³], second moments
    [m⁴]. All by the shares of the length, so that the moments are the true derivatives of each
    other.
    """

    volume: float
    along: float
    across: float
    up: float
    plane: float
    plane_x: float
    plane_w: float
    plane_xx: float
    plane_xw: float
    plane_ww: float


@compiled
def turned(
    along: Floats, share: Floats, first: Integers, y: Floats, z: Floats, wave: Floats, heel: float
) -> Turned:
    """The sections at `heel` [rad]."""
    c, s = math.cos(heel), math.sin(heel)
    w, v = y * c + z * s, z * c - y * s
    lowest, highest = np.empty(along.size), np.empty(along.size)
    for i in range(along.size):
        lowest[i], highest[i] = math.inf, -math.inf
        for k in range(first[i], first[i + 1]):
            lowest[i], highest[i] = min(lowest[i], v[k]), max(highest[i], v[k])
    return Turned(along, share, first, wave, w, v, lowest, highest)


@compiled
def immersed(sections: Turned, height: float, slope: float) -> Immersed:
    """What lies under the plane of water v = height + slope · x + wave."""
    volume, along, across, up = 0.0, 0.0, 0.0, 0.0
    plane, plane_x, plane_w = 0.0, 0.0, 0.0
    plane_xx, plane_xw, plane_ww = 0.0, 0.0, 0.0
    w, v = sections.w, sections.v
    for i in range(sections.along.size):
        x, share = sections.along[i], sections.share[i]
        water = height + slope * x + sections.wave[i]
        if water <= sections.lowest[i] or share == 0.0:
            continue
        area, area_w, area_v, breadth, breadth_w, breadth_ww = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        start, end = sections.first[i], sections.first[i + 1]
        before = end - 1
        for k in range(start, end):
            w0, v0, w1, v1 = w[before], v[before], w[k], v[k]
            before = k
            under0, under1 = v0 <= water, v1 <= water
            if not under0 and not under1:
                continue
            if under0 != under1:
                cut = w0 + (w1 - w0) * ((water - v0) / (v1 - v0))
                side = 1.0 if under0 else -1.0
                if under0:
                    w1, v1 = cut, water
                else:
                    w0, v0 = cut, water
                breadth += side * cut
                breadth_w += side * cut * cut
                breadth_ww += side * cut * cut * cut
            rise = v1 - v0
            area += 0.5 * (w0 + w1) * rise
            area_w += (w0 * w0 + w0 * w1 + w1 * w1) * rise / 6.0
            area_v += (w0 * (2.0 * v0 + v1) + w1 * (v0 + 2.0 * v1)) * rise / 6.0
        breadth_w *= 0.5
        breadth_ww /= 3.0
        volume += share * area
        along += share * x * area
        across += share * area_w
        up += share * area_v
        plane += share * breadth
        plane_x += share * x * breadth
        plane_w += share * breadth_w
        plane_xx += share * x * x * breadth
        plane_xw += share * x * breadth_w
        plane_ww += share * breadth_ww
    return Immersed(
        volume,
        along,
        across,
        up,
        plane,
        plane_x,
        plane_w,
        plane_xx,
        plane_xw,
        plane_ww,
    )


@compiled
def area_within(outline: Floats, left: float, right: float, low: float, high: float) -> float:
    """Area of an outline (n, 2) inside a rectangle [m²].

    Green's theorem again: ∮ y dz with y and z held within the rectangle is the area inside it less
    what lies to its left, which `left` taken off y does away with; sides are cut where they pass
    a bound.
    """
    area = 0.0
    n = outline.shape[0]
    cuts = np.empty(6)
    for k in range(n):
        y0, z0 = outline[k - 1, 0], outline[k - 1, 1]
        y1, z1 = outline[k, 0], outline[k, 1]
        cuts[0], cuts[1] = 0.0, 1.0
        for m, (a, b, bound) in enumerate(
            ((y0, y1, left), (y0, y1, right), (z0, z1, low), (z0, z1, high))
        ):
            part = (bound - a) / (b - a) if b != a else 0.0
            cuts[m + 2] = min(max(part, 0.0), 1.0)
        cuts.sort()
        for m in range(5):
            ya, yb = y0 + (y1 - y0) * cuts[m], y0 + (y1 - y0) * cuts[m + 1]
            za, zb = z0 + (z1 - z0) * cuts[m], z0 + (z1 - z0) * cuts[m + 1]
            ya, yb = min(max(ya, left), right) - left, min(max(yb, left), right) - left
            za, zb = min(max(za, low), high), min(max(zb, low), high)
            area += 0.5 * (ya + yb) * (zb - za)
    return area
