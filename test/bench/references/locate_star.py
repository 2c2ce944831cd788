"""Stars of unknown size in a frame with scipy.ndimage: background taken off, the frame smoothed at several scales, blobs where
any of them stands out of its noise, and in each blob center of mass, flux and size.

usage: locate_star.py <smoothing> <file>     smoothing: gaussians or boxes
The file holds doubles: width, height, most stars; then the frame, row by row.
Answers with its seconds, then x and y of each star, brightest first.
"""
import sys
import time

import numpy as np
from scipy import ndimage

smoothing = sys.argv[1]
numbers = np.fromfile(sys.argv[2])
width, height, most = (int(value) for value in numbers[:3])
frame = numbers[3:].reshape(height, width)
# Scales of about a factor of 2; a Gaussian smooths noise as a box of side 2 sqrt(pi) sigma does.
SIDES = (3, 7, 15, 31)
SIGMAS = (1, 2.2, 4.5, 9)
LEAST = 6


def fill_hot_pixels(image, sigma):
    """Pixels that stand 10 sigma above all that is around them but for an eighth of their height."""
    y, x = np.nonzero(image[1:-1, 1:-1] - image[1:-1, :-2] > 5 * sigma)
    y += 1
    x += 1
    around = np.stack([image[y + dy, x + dx] for dy in (-1, 0, 1) for dx in (-1, 0, 1) if dy or dx])
    level = np.median(around, axis=0)
    above = image[y, x] - level
    sides = around[[1, 3, 4, 6]].mean(axis=0) - level
    hot = (above > 10 * sigma) & (sides < 0.125 * above)
    image[y[hot], x[hot]] = level[hot]


def plane_of(image):
    """Least-squares plane through the medians of blocks."""
    block = 50
    rows, columns = image.shape[0] // block, image.shape[1] // block
    blocks = image[: rows * block, : columns * block].reshape(rows, block, columns, block)
    level = np.median(blocks[:, ::5, :, ::5], axis=(1, 3))
    y, x = (np.indices(level.shape) + 0.5) * block
    unknowns = np.stack([np.ones(level.size), x.ravel(), y.ravel()], axis=1)
    offset, slope_x, slope_y = np.linalg.lstsq(unknowns, level.ravel(), rcond=None)[0]
    return offset + slope_x * np.arange(image.shape[1]) + slope_y * np.arange(image.shape[0])[:, None]


def locate(frame):
    image = frame.copy()
    differences = np.abs(np.diff(image.ravel()[: 8 * (image.size // 8)].reshape(-1, 8)[:, :2], axis=1))
    sigma = 1.4826 * np.median(differences) / np.sqrt(2)
    fill_hot_pixels(image, sigma)
    image -= plane_of(image)
    lit = np.zeros(image.shape, bool)
    if smoothing == "boxes":
        for side in SIDES:
            lit |= ndimage.uniform_filter(image, side) > LEAST * sigma / side
    else:
        for scale in SIGMAS:
            lit |= ndimage.gaussian_filter(image, scale) > LEAST * sigma / (2 * np.sqrt(np.pi) * scale)
    labels, count = ndimage.label(lit)
    stars = []
    for label, (rows, columns) in enumerate(ndimage.find_objects(labels), 1):
        top, left = max(0, rows.start - 3), max(0, columns.start - 3)
        cut = image[top : rows.stop + 3, left : columns.stop + 3]
        own = labels[top : rows.stop + 3, left : columns.stop + 3]
        light = np.where(own == label, cut - np.median(cut[own == 0]), 0)
        flux = light.sum()
        if not flux > 0:
            continue
        x = light.sum(axis=0) @ np.arange(light.shape[1]) / flux
        y = light.sum(axis=1) @ np.arange(light.shape[0]) / flux
        stars.append((flux, left + x, top + y, 2 * np.sqrt(np.count_nonzero(own == label) / np.pi)))
    stars.sort(reverse=True)
    return stars[:most]


for line in sys.stdin:
    begin = time.perf_counter()
    for _ in range(int(line)):
        found = locate(frame)
    seconds = time.perf_counter() - begin
    print(seconds, *(value for _, x, y, _ in found for value in (x, y)), flush=True)
