"""Frames as a guide camera gives them on a bad night, with what is true of them: numpy alone, no code of this project.

    python3 test/independent/hard_frames.py FOLDER COUNT [SEED [WIDTH HEIGHT STARS]]

writes FOLDER/frame-000.fits (16 bit, 1.2 electrons per ADU, read noise 2.5 electrons, level 200 ADU) and FOLDER/truth.json. All
rings of one frame share their size but for 3 % of field curvature. The SNR of a star is its flux over the least possible
error of that flux: `asked` over the background alone, `snr` with all that the frame holds there. Each frame has a gradient and hot pixels; most also have
a trail, a galaxy, bad columns, dust shadows, a bright star cut by the edge, a cosmic ray, or a gradient of clouds. Seeds are
those of numpy's PCG64, so that a frame can be made again.
"""
import json
import os
import sys

import numpy as np

GAIN, READ, LEVEL = 1.2, 2.5, 200.0
FINE = 5


def ring(size, dx, dy, diameter, obstruction, fwhm):
    """Light of a blurred ring in a size x size stamp, of sum 1; center dx, dy off the middle pixel."""
    n = size * FINE
    grid = (np.arange(n) + 0.5) / FINE - 0.5 - (size - 1) / 2
    r2 = (grid[None, :] - dx) ** 2 + (grid[:, None] - dy) ** 2
    outer = (diameter / 2) ** 2
    light = ((r2 <= outer) & (r2 >= outer * obstruction**2)).astype(float)
    k = np.fft.fftfreq(n)
    s = fwhm / 2.3548200450309493 * FINE
    blur = np.exp(-2 * (np.pi * s * k) ** 2)
    light = np.fft.ifft2(np.fft.fft2(light) * blur[None, :] * blur[:, None]).real
    light = light.reshape(size, FINE, size, FINE).sum((1, 3))
    return light / light.sum()


def part(shape, stamp, x, y):
    """Where a stamp about column x, row y lies in a frame, and the part of the stamp that does."""
    size = stamp.shape[0]
    top, left = y - (size - 1) // 2, x - (size - 1) // 2
    a, b = max(0, top), min(shape[0], top + size)
    c, d = max(0, left), min(shape[1], left + size)
    return np.s_[a:b, c:d], stamp[a - top : b - top, c - left : d - left]


def snr_of(star, other):
    """Flux over its least possible error: electrons of the star per pixel, and variance of all else there."""
    return np.sqrt(np.sum(star**2 / (star + other)))


def flux_for(snr, profile, variance):
    """Electrons at which a star of this profile (sum 1) has this SNR."""
    low, high = 0.0, 30.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if snr_of(np.exp(middle) * profile, variance) < snr else (low, middle)
    return float(np.exp(low))


def make(seed, width, height, count):
    rng = np.random.default_rng(seed)
    yy, xx = np.mgrid[0:height, 0:width].astype(float)
    sky = rng.uniform(20, 150)
    frame = np.full((height, width), sky)
    has = {}
    angle = rng.uniform(0, 2 * np.pi)
    frame *= 1 + rng.uniform(0, 0.6) * ((xx / width - 0.5) * np.cos(angle) + (yy / height - 0.5) * np.sin(angle))
    has["clouds"] = bool(rng.random() < 0.5)
    if has["clouds"]:
        for _ in range(4):
            cx, cy, s = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(150, 400)
            frame += sky * rng.uniform(0.05, 0.3) * np.exp(-((xx - cx) ** 2 + (yy - cy) ** 2) / (2 * s * s))

    diameter = float(np.exp(rng.uniform(np.log(6), np.log(60))))
    obstruction = float(rng.uniform(0.2, 0.5))
    fwhm = float(rng.uniform(2, 4))
    size = int(2 * np.ceil((diameter * 1.03) / 2 + 3 * fwhm) + 5) | 1
    base = frame.copy()
    stars, light = [], []

    def put(x, y, snr, cut):
        far = ((x / width - 0.5) ** 2 + (y / height - 0.5) ** 2) * 2
        own = diameter * (1 + 0.03 * far)
        ix, iy = int(round(x)), int(round(y))
        where, profile = part(frame.shape, ring(size, x - ix, y - iy, own, obstruction, fwhm), ix, iy)
        flux = flux_for(snr, profile, base[where] + READ**2)
        frame[where] += flux * profile
        light.append((where, flux * profile))
        stars.append({"x": x, "y": y, "flux": flux, "asked": snr, "diameter": own, "cut": cut})

    margin = diameter / 2 + 2 * fwhm + 2
    for _ in range(count):
        x, y = rng.uniform(margin, width - 1 - margin), rng.uniform(margin, height - 1 - margin)
        put(x, y, 10.0 if rng.random() < 0.35 else float(np.exp(rng.uniform(np.log(10), np.log(300)))), False)
    has["cut star"] = bool(rng.random() < 0.5)
    if has["cut star"]:
        put(rng.uniform(-0.3, 0.3) * diameter, rng.uniform(margin, height - 1 - margin), 200.0, True)
    has["galaxy"] = bool(rng.random() < 0.5)
    galaxy = None
    if has["galaxy"]:
        gx, gy = rng.uniform(0.1, 0.9) * width, rng.uniform(0.1, 0.9) * height
        a, q, t = rng.uniform(8, 30), rng.uniform(0.3, 0.8), rng.uniform(0, np.pi)
        u = (xx - gx) * np.cos(t) + (yy - gy) * np.sin(t)
        v = (-(xx - gx) * np.sin(t) + (yy - gy) * np.cos(t)) / q
        frame += sky * rng.uniform(0.2, 2) * np.exp(-np.sqrt(u * u + v * v) / a)
        galaxy = {"x": gx, "y": gy, "scale": a, "ratio": q}
    has["trail"] = bool(rng.random() < 0.6)
    trail = None
    if has["trail"]:
        t = rng.uniform(0, np.pi)
        px, py = rng.uniform(0.2, 0.8) * width, rng.uniform(0.2, 0.8) * height
        off = (xx - px) * np.sin(t) - (yy - py) * np.cos(t)
        s = max(diameter / 3, fwhm / 2.35)
        frame += np.sqrt(sky) * rng.uniform(2, 15) * np.exp(-(off**2) / (2 * s * s))
        trail = {"x": px, "y": py, "angle": t, "sigma": s}
    has["dust"] = bool(rng.random() < 0.5)
    if has["dust"]:
        for _ in range(3):
            cx, cy, r = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(40, 130)
            d = np.hypot(xx - cx, yy - cy)
            frame *= 1 - rng.uniform(0.01, 0.04) * ((d < r) & (d > 0.4 * r))

    for star, (where, own) in zip(stars, light):
        star["snr"] = float(snr_of(own, np.maximum(frame[where] - own, 0) + READ**2))

    electrons = rng.poisson(np.maximum(frame, 0)).astype(float)
    hot = rng.integers(0, width * height, int(3e-4 * width * height))
    electrons.flat[hot] += rng.exponential(1500, hot.size)
    pairs = rng.integers(0, width * height - 1, 10)
    electrons.flat[pairs] += 3000
    electrons.flat[pairs + 1] += 2500
    has["columns"] = bool(rng.random() < 0.5)
    if has["columns"]:
        for c in rng.integers(0, width, 3):
            electrons[int(rng.integers(0, height // 2)) :, c] += rng.uniform(10, 400)
    has["cosmic"] = bool(rng.random() < 0.5)
    if has["cosmic"]:
        x, y, t = rng.uniform(20, width - 20), rng.uniform(20, height - 20), rng.uniform(0, np.pi)
        for s in np.arange(0, rng.uniform(4, 14), 0.5):
            electrons[int(y + s * np.sin(t)), int(x + s * np.cos(t))] += rng.uniform(100, 600)
    electrons += rng.normal(0, READ, electrons.shape)
    adu = np.clip(np.round(electrons / GAIN + LEVEL), 0, 65535)
    truth = {
        "seed": seed, "sky": sky, "diameter": diameter, "obstruction": obstruction, "fwhm": fwhm,
        "stars": stars, "galaxy": galaxy, "trail": trail, "has": has,
    }
    return adu, truth


def write(path, adu):
    """FITS 4.0: 16-bit whole numbers with BZERO, big endian, blocks of 2880 bytes."""
    height, width = adu.shape
    cards = [
        ("SIMPLE", "T"), ("BITPIX", "16"), ("NAXIS", "2"), ("NAXIS1", str(width)), ("NAXIS2", str(height)),
        ("BZERO", "32768"), ("BSCALE", "1"),
    ]
    head = "".join(f"{k:<8}= {v:>20}".ljust(80) for k, v in cards) + "END".ljust(80)
    data = (adu - 32768).astype(">i2").tobytes()
    with open(path, "wb") as out:
        out.write(head.ljust(-(-len(head) // 2880) * 2880).encode("ascii"))
        out.write(data.ljust(-(-len(data) // 2880) * 2880, b"\0"))


def main(folder, count, seed=1, width=1280, height=960, stars=30):
    os.makedirs(folder, exist_ok=True)
    truths = []
    for k in range(count):
        adu, truth = make(seed + k, width, height, stars)
        truth["file"] = f"frame-{k:03d}.fits"
        write(os.path.join(folder, truth["file"]), adu)
        truths.append(truth)
    with open(os.path.join(folder, "truth.json"), "w") as out:
        json.dump({"gain": GAIN, "read": READ, "level": LEVEL, "frames": truths}, out)


if __name__ == "__main__":
    main(sys.argv[1], *[int(a) for a in sys.argv[2:]])
