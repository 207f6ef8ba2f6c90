"""A linear circuit's course in closed form: exact exponentials that lose no figures.

Between two events the drive is linear. Its current i meets at most two stores of energy: the shaft's inertia,
and the buffer capacitor, which to the current is a second flywheel of the opposite sign::

    i' = -a·i - p·ω + r·v + …        a = R/L     p = k/L     r = β/L
    ω' =  q·i - b·ω + …              q = k/J     b = (viscous + 2·fan·ω_r)/J
    v' = -u·i - g·v + …              u = β/C     g = 1/(C·(R_source + R_capacitor))

With x' the derivative at the start, x(t) = x₀ + ∫e^(A·s)ds·x'. Taking the *derivative* apart into modes, and not the
distance from a resting point, needs no resting point: friction and viscosity may be zero.

A real mode λ contributes (its share of x')·E(λ, t) with E = (e^(λt) - 1)/λ, which is t for λ = 0.
Two modes that lie close together, or oscillate, are kept as one *pair* with the mean m and s = (half their distance)²,
negative where they oscillate. On the pair's plane (A - m)² = s, so e^(At) = e^(mt)·(cosh √s·t + (A - m)·sinh √s·t/√s),
and its share y of x' contributes y·H(t) + (A - m)y·K(t), H and K being the integrals of the two factors.
"""

# ruff: noqa: PLR0917 (compiled functions, and the fast plain ones, pass floats by position)

from __future__ import annotations

import math

from labkit._kernels.engine.compiled import compiled

__all__ = ["APART", "Flow", "growth", "pair_growth", "three_modes", "two_modes"]

#: Modes and their shares, 20 floats: λ₁ λ₂ λ₃, the shares of i (3), ω (3), v (3), m, s, y of (i, ω, v), (A - m)y.
Flow = tuple[float, ...]

#: Two real modes are taken apart where s is above this part of m²; below it they are a pair.
APART = 0.01


@compiled
def growth(rate: float, time: float) -> float:
    """E(λ, t) = (e^(λt) - 1)/λ [s] for a rate [1/s] and a time [s]."""
    return time if rate == 0.0 else math.expm1(rate * time) / rate


@compiled
def pair_growth(m: float, s: float, time: float) -> tuple[float, float, float, float]:
    """H, K, H', K' [s, s², 1, s] of a pair; from the power series where the closed form would cancel.

    With P = H' and Q = K': P' = m·P + s·Q and Q' = m·Q + P, hence H = (m·(P - 1) - s·Q)/(m² - s) and
    K = (m·Q - (P - 1))/(m² - s). The series is Q's: q(n+1) = 2m·q(n) - (m² - s)·q(n-1).
    """
    product = m * m - s
    if product * time * time < 0.01:
        before, now, power, q, k, slope = 0.0, 1.0, 1.0, 0.0, 0.0, 1.0
        for n in range(1, 13):  # now·power is the coefficient q(n)·t^(n-1)/(n-1)!
            q += now * power * time / n
            k += now * power * time * time / (n * (n + 1))
            before, now = now, 2.0 * m * now - product * before
            power *= time / n
            slope += now * power
        return q - m * k, k, slope - m * q, q
    if s < 0.0:
        root = math.sqrt(-s)
        decay = math.exp(m * time)
        p, q = decay * math.cos(root * time), decay * math.sin(root * time) / root
    else:
        root = math.sqrt(s)
        low, high = math.exp((m - root) * time), math.exp((m + root) * time)
        p = 0.5 * (low + high)
        angle = root * time
        q = 0.5 * (high - low) / root if angle > 0.5 else math.exp(m * time) * time * _sinh_ratio(angle)
    return (m * (p - 1.0) - s * q) / product, (m * q - (p - 1.0)) / product, p, q


@compiled
def _sinh_ratio(x: float) -> float:
    """sinh(x)/x for x up to 1/2, also at 0."""
    square = x * x
    return 1.0 + square / 6.0 * (
        1.0 + square / 20.0 * (1.0 + square / 42.0 * (1.0 + square / 72.0 * (1.0 + square / 110.0)))
    )


@compiled
def two_modes(
    a: float, p: float, q: float, b: float, di: float, dw: float
) -> tuple[bool, float, float, float, float, float, float]:
    """Modes of i' = -a·i - p·ω, ω' = q·i - b·ω: whether they are apart, then λ₁, λ₂, shares of i and of ω.

    With d = (a - b)/2, s = d² - p·q and f = |d| + √s the projectors on the two modes hold f, p, q and p·q/f only:
    sums of like signs, so that a stiff circuit (a ≫ b) keeps all figures. Where the modes are not apart, the
    numbers returned are m, s, y of i and ω, (A - m)y of i and ω.
    """
    m, d = -0.5 * (a + b), 0.5 * (a - b)
    s = d * d - p * q
    if s <= APART * m * m:
        return False, m, s, di, dw, -d * di - p * dw, q * di + d * dw
    root = math.sqrt(s)
    half = 0.5 / root
    f = abs(d) + root
    e = p * q / f
    fast = m - root
    slow = (a * b + p * q) / fast
    if d >= 0.0:
        return (
            True,
            fast,
            slow,
            (f * di + p * dw) * half,
            -(e * di + p * dw) * half,
            -(q * di + e * dw) * half,
            (q * di + f * dw) * half,
        )
    return (
        True,
        fast,
        slow,
        (p * dw - e * di) * half,
        (f * di - p * dw) * half,
        (f * dw - q * di) * half,
        (q * di - e * dw) * half,
    )


@compiled
def _real_root(a_less_b: float, pq: float, ru: float, gap: float) -> float:
    """The x = λ + b of the mode that lies between -b and -g, gap = b - g: Newton's steps inside a shrinking bracket.

    The characteristic polynomial (λ+a)(λ+b)(λ+g) + p·q(λ+g) + r·u(λ+b) has opposite signs at λ = -b and λ = -g.
    """
    low, high = 0.0, gap  # the polynomial's sign at `low` is that of -gap
    x = gap * pq / (pq + ru)
    for _ in range(200):
        value = ((x + a_less_b) * x + pq) * (x - gap) + ru * x
        slope = (2.0 * x + a_less_b) * (x - gap) + (x + a_less_b) * x + pq + ru
        if value == 0.0:
            return x
        if (value < 0.0) == (gap > 0.0):
            low = x
        else:
            high = x
        new = x - value / slope if slope != 0.0 else low
        if not min(low, high) < new < max(low, high):
            new = 0.5 * (low + high)
        if abs(new - x) <= 2e-15 * abs(new):
            return new
        x = new
    return x


@compiled
def _share(
    bg: float, b: float, g: float, p: float, q: float, r: float, u: float, di: float, dw: float, dv: float
) -> tuple[float, float, float]:
    """Share of (i', ω', v') in the mode λ, from b = λ + b, g = λ + g and their product, given apart since it may be 0.

    The mode is (bg, q·g, -u·b) and its dual (bg, -p·g, r·b).
    """
    scale = bg * bg - p * q * g * g - r * u * b * b
    size = (bg * di - p * g * dw + r * b * dv) / scale
    return bg * size, q * g * size, -u * b * size


@compiled
def three_modes(
    a: float, p: float, q: float, b: float, r: float, u: float, g: float, di: float, dw: float, dv: float
) -> Flow:
    """Modes of the current with both stores; b and g may be equal, a, p·q and r·u are above zero.

    One root of the cubic is real and lies between -b and -g; the other two follow from the quadratic that is left.
    Its coefficients, and the differences λ+b and λ+g that the modes are made of, are formed without cancellation.
    """
    pq, ru, gap = p * q, r * u, b - g
    if gap == 0.0:
        root, to_b, to_g, product = -b, pq, -ru, 0.0
        rest = a + b
    else:
        to_b = _real_root(a - b, pq, ru, gap)
        to_g = to_b - gap
        if abs(to_b) <= abs(to_g):
            root = to_b - b
        else:
            to_g = -ru * to_b / ((to_b + a - b) * to_b + pq)
            root = to_g - g
        product = to_b * to_g
        rest = a + g + to_b if gap > 0.0 else a + b + to_g
    constant = (a * b * g + pq * g + ru * b) / -root
    m = -0.5 * rest
    s = m * m - constant
    single = _share(product, to_b, to_g, p, q, r, u, di, dw, dv)
    if s <= APART * m * m:
        return _one_and_pair(root, single, product, to_b, to_g, m, s, a, p, q, b, r, u, g, di, dw, dv)
    fast = m - math.sqrt(s)
    slow = constant / fast
    for near, far in ((fast, slow), (slow, fast)):
        middle, half = 0.5 * (root + near), 0.5 * (root - near)
        if half * half <= APART * middle * middle:
            far_b, far_g = _differences(far, a, pq, b, ru, g)
            alone = _share(far_b * far_g, far_b, far_g, p, q, r, u, di, dw, dv)
            return _one_and_pair(
                far, alone, far_b * far_g, far_b, far_g, middle, half * half, a, p, q, b, r, u, g, di, dw, dv
            )
    fast_b, fast_g = _differences(fast, a, pq, b, ru, g)
    slow_b, slow_g = _differences(slow, a, pq, b, ru, g)
    one = _share(fast_b * fast_g, fast_b, fast_g, p, q, r, u, di, dw, dv)
    two = _share(slow_b * slow_g, slow_b, slow_g, p, q, r, u, di, dw, dv)
    return (
        fast, slow, root,
        one[0], two[0], single[0],
        one[1], two[1], single[1],
        one[2], two[2], single[2],
        0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
    )  # fmt: skip


@compiled
def _differences(root: float, a: float, pq: float, b: float, ru: float, g: float) -> tuple[float, float]:
    """λ + b and λ + g of a root, the smaller from the polynomial where the plain difference would cancel."""
    to_b, to_g = root + b, root + g
    if abs(to_b) <= abs(to_g):
        return -pq * to_g / ((root + a) * to_g + ru), to_g
    return to_b, -ru * to_b / ((root + a) * to_b + pq)


@compiled
def _one_and_pair(
    root: float, single: tuple[float, float, float], bg: float, to_b: float, to_g: float, m: float, s: float,
    a: float, p: float, q: float, b: float, r: float, u: float, g: float, di: float, dw: float, dv: float,
) -> Flow:  # fmt: skip
    """Flow of one mode and a pair; the pair's share is what the mode leaves, cleared of it a second time."""
    yi, yw, yv = di - single[0], dw - single[1], dv - single[2]
    again = _share(bg, to_b, to_g, p, q, r, u, yi, yw, yv)
    yi, yw, yv = yi - again[0], yw - again[1], yv - again[2]
    return (
        0.0, 0.0, root,
        0.0, 0.0, single[0] + again[0],
        0.0, 0.0, single[1] + again[1],
        0.0, 0.0, single[2] + again[2],
        m, s, yi, yw, yv,
        -(a + m) * yi - p * yw + r * yv, q * yi - (b + m) * yw, -u * yi - (g + m) * yv,
    )  # fmt: skip
