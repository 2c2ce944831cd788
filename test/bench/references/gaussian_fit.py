"""Least-squares fits of a pixel-integrated Gaussian by scipy, with the analytic Jacobian."""

import sys
import time

import numpy as np
from scipy.optimize import least_squares
from scipy.special import erf

# Steps end below this, relative to the unknowns; the positions are then right to well below 1e-4 px.
TOLERANCE = 1e-6

data = np.fromfile(sys.argv[1])
width, height, stars = data[:3].astype(int)
frames = data[3:].reshape(stars, height, width)
column_edges = np.arange(width + 1) - 0.5
row_edges = np.arange(height + 1) - 0.5
column = np.arange(width)
row = np.arange(height)


def profile(edges, position, sigma):
    """Share of the light in each pixel along one axis, with its derivatives to position and sigma."""
    u = (edges - position) / sigma
    p = np.exp(-0.5 * u * u) / (np.sqrt(2 * np.pi) * sigma)
    return np.diff(0.5 * erf(u / np.sqrt(2))), -np.diff(p), -np.diff(u * p)


def residuals(unknowns, frame):
    x, y, sigma, flux, background = unknowns
    X = np.diff(0.5 * erf((column_edges - x) / (np.sqrt(2) * sigma)))
    Y = np.diff(0.5 * erf((row_edges - y) / (np.sqrt(2) * sigma)))
    return (flux * Y[:, None] * X + background - frame).ravel()


def jacobian(unknowns, frame):
    x, y, sigma, flux, _ = unknowns
    X, Xx, Xs = profile(column_edges, x, sigma)
    Y, Yy, Ys = profile(row_edges, y, sigma)
    out = np.empty((5, height, width))
    out[0] = flux * Y[:, None] * Xx
    out[1] = flux * Yy[:, None] * X
    out[2] = flux * (Y[:, None] * Xs + Ys[:, None] * X)
    out[3] = Y[:, None] * X
    out[4] = 1
    return out.reshape(5, -1).T


def first_guess(frame):
    level = np.percentile(frame, 25)
    light = frame - level
    peak = light.max()
    bright = np.where(light > peak / 2, light, 0)
    total = bright.sum()
    sigma = np.sqrt(np.count_nonzero(bright) / (2 * np.pi * np.log(2)))
    x = (bright.sum(axis=0) * column).sum() / total
    y = (bright.sum(axis=1) * row).sum() / total
    return [x, y, sigma, 2 * np.pi * sigma**2 * peak, level]


positions = np.zeros((stars, 2))
star = 0
for line in sys.stdin:
    count = int(line)
    begin = time.perf_counter()
    for _ in range(count):
        frame = frames[star]
        found = least_squares(
            residuals,
            first_guess(frame),
            jac=jacobian,
            method="lm",
            x_scale="jac",
            xtol=TOLERANCE,
            ftol=TOLERANCE,
            gtol=TOLERANCE,
            args=(frame,),
        )
        positions[star] = found.x[:2]
        star = (star + 1) % stars
    seconds = time.perf_counter() - begin
    print(seconds, *positions.ravel(), flush=True)
