"""Out-of-focus stars with known wavefronts, by numpy alone: the truth of the wavefront fit.

    python3 test/independent/wavefront_rings.py test/independent/wavefront-rings

Each picture is |transform of the pupil|^2 (Goodman, Introduction to Fourier Optics, from memory), finely
sampled, blurred by a Gaussian and summed over pixels; then photons and read noise. Zernike polynomials by
Noll (1976), written out in x and y. The wave is late where W > 0; light from (x, y) lands at + dW/dx, so
that a sensor beyond focus has W = -dz r^2 / 8F^2.
"""
import json
import sys
from pathlib import Path

import numpy as np

F, PIXEL_UM, WAVE_UM, SIDE = 5.0, 3.75, 0.6, 64
OVER = 4  # fine samples per pixel side
FWHM_PX, FLUX, SKY, READ = 2.6, 60000.0, 30.0, 3.0


def zernike(noll, x, y):
    r2 = x * x + y * y
    return {
        4: np.sqrt(3) * (2 * r2 - 1),
        5: np.sqrt(6) * 2 * x * y,
        6: np.sqrt(6) * (x * x - y * y),
        7: np.sqrt(8) * (3 * r2 - 2) * y,
        8: np.sqrt(8) * (3 * r2 - 2) * x,
        9: np.sqrt(8) * (3 * x * x * y - y**3),
        10: np.sqrt(8) * (x**3 - 3 * x * y * y),
        11: np.sqrt(5) * (6 * r2 * r2 - 6 * r2 + 1),
    }[noll]


def picture(waves, obstruction, clip, at, rng):
    fine = PIXEL_UM / OVER
    n = 512
    # one sample of the pupil per 1 / (n fine) of frequency; its radius is 1 / (2 lambda F)
    step = 2 * WAVE_UM * F / (n * fine)
    axis = (np.arange(n) - n // 2) * step
    x, y = np.meshgrid(axis, axis)
    part = np.zeros((n, n))
    for dx in (-0.375, -0.125, 0.125, 0.375):
        for dy in (-0.375, -0.125, 0.125, 0.375):
            u, v = x + dx * step, y + dy * step
            open_ = (u * u + v * v <= 1) & (u * u + v * v >= obstruction**2)
            if clip is not None:
                angle = np.radians(clip["angleDeg"])
                open_ &= u * np.cos(angle) + v * np.sin(angle) <= clip["distance"]
            part += open_ / 16
    w = sum(size * zernike(noll, x, y) for noll, size in waves.items())
    # a wave that is late toward +x sends its light toward +x
    field = part * np.exp(-2j * np.pi * w)
    light = np.abs(np.fft.fftshift(np.fft.fft2(np.fft.ifftshift(field)))) ** 2
    light = light[::-1, ::-1]  # the forward transform sends + slopes to - places
    light = np.roll(light, 1, axis=(0, 1))
    # blur, and the place of the star, by the shift theorem
    k = np.fft.fftfreq(n)
    kx, ky = np.meshgrid(k, k)
    sigma = FWHM_PX * OVER / 2.3548200450309493
    blur = np.exp(-2 * np.pi**2 * sigma**2 * (kx**2 + ky**2))
    # pixel i spans the fine samples OVER i to OVER (i + 1) - 1
    place = [OVER * at[0] + (OVER - 1) / 2 - n // 2, OVER * at[1] + (OVER - 1) / 2 - n // 2]
    shift = np.exp(-2j * np.pi * (kx * place[0] + ky * place[1]))
    light = np.real(np.fft.ifft2(np.fft.fft2(light) * blur * shift))
    light *= FLUX / light.sum()
    cut = light[: SIDE * OVER, : SIDE * OVER]
    expected = cut.reshape(SIDE, OVER, SIDE, OVER).sum(axis=(1, 3))
    return rng.poisson(np.maximum(0, expected) + SKY) + rng.normal(0, READ, (SIDE, SIDE))


CASES = {
    "beyond": ({4: -1.7, 5: 0.12, 6: -0.1, 7: 0.12, 8: -0.2, 9: 0.06, 10: -0.05, 11: 0.09}, 0.33, None),
    "before": ({4: 1.7, 5: 0.12, 6: -0.1, 7: 0.12, 8: -0.2, 9: 0.06, 10: -0.05, 11: 0.09}, 0.33, None),
    "clipped": ({4: -1.7, 5: 0.0, 6: 0.15, 7: 0.0, 8: 0.2, 9: 0.0, 10: 0.0, 11: 0.0}, 0.33,
                {"distance": 0.7, "angleDeg": 0.0}),
}


def main(folder):
    folder.mkdir(parents=True, exist_ok=True)
    truth = {}
    for seed, (name, (waves, obstruction, clip)) in enumerate(CASES.items()):
        at = (31.3, 30.6)
        image = picture(waves, obstruction, clip, at, np.random.default_rng(seed))
        # FITS by hand (FITS 4.0): 16-bit counts with an offset of 100, 1 electron per count
        counts = np.round(image + 100).astype(">i2")
        cards = ["SIMPLE  =                    T", "BITPIX  =                   16", "NAXIS   =                    2",
                 f"NAXIS1  = {SIDE:20d}", f"NAXIS2  = {SIDE:20d}", "END"]
        header = "".join(card.ljust(80) for card in cards).ljust(2880).encode()
        data = counts.tobytes()
        (folder / f"{name}.fits").write_bytes(header + data + bytes(-len(data) % 2880))
        truth[name] = {"wavesByNoll": waves, "obstructionRatio": obstruction, "clip": clip, "chiefRay": at}
    truth["camera"] = {"fNumber": F, "pixelSizeUm": PIXEL_UM, "wavelengthNm": 1000 * WAVE_UM, "offsetAdu": 100,
                       "readNoiseE": READ, "flux": FLUX}
    (folder / "truth.json").write_text(json.dumps(truth, indent=1) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
