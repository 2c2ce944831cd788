"""Noisy frames of a ring and their thresholded centers of mass, vectorized: whole batches of frames a call."""

import sys
import time

import numpy as np

# Frames a call. Anything from 32 to 512 is as fast within the noise.
BATCH = 256

data = np.fromfile(sys.argv[1])
width, height, phases = data[:3].astype(int)
read_noise, gain, offset, highest, threshold, center_x, center_y, inner2 = data[3:11]
size = width * height
expected = data[11 : 11 + phases * size].reshape(phases, size)
truth = data[11 + phases * size :].reshape(phases, 2)

column = np.tile(np.arange(width, dtype=float), height)
row = np.repeat(np.arange(height, dtype=float), width)
places = np.stack([np.ones(size), column, row], axis=1)
border = np.flatnonzero((column - center_x) ** 2 + (row - center_y) ** 2 > inner2)
rng = np.random.default_rng(1)
frames = np.resize(expected, (BATCH, size))
true_places = np.resize(truth, (BATCH, 2))


def batch():
    """Sum of squared errors of the positions of one batch."""
    electrons = rng.poisson(frames) + rng.normal(0.0, read_noise, frames.shape)
    adu = np.clip(np.rint(electrons / gain + offset), 0.0, highest)
    pixels = (adu - offset) * gain
    level = pixels[:, border].mean(axis=1) + threshold
    light = np.maximum(pixels - level[:, None], 0.0)
    sums = light @ places
    found = sums[:, 1:] / sums[:, :1]
    return np.sum((found - true_places) ** 2)


for line in sys.stdin:
    count = int(line)
    batches = -(-count // BATCH)
    squares = 0.0
    begin = time.perf_counter()
    for _ in range(batches):
        squares += batch()
    seconds = time.perf_counter() - begin
    # Whole batches only: the time of `count` frames, and the mean square of an error along one axis.
    print(seconds * count / (batches * BATCH), squares, 2 * batches * BATCH, flush=True)
