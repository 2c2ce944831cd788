"""Diffraction image of a star with numpy and scipy.fft, by the steps of the library: mean wave in each cell of the pupil,
transform padded to twice its size, light, its transform, seeing, pixels, shift, waves that look alike at whole pixels
added, transform back.

usage: diffraction.py <mode> <file>     mode: anew, kept (what does not depend on the wavefront is kept), render
The file holds doubles: pupil samples, period px, wavelength nm, F-number, pixel um, aperture mm, seeing FWHM arcsec, coma nm,
width, height, x, y, focus shift um; then the open fraction of each cell, row by row.
Answers with its seconds, then every 97th pixel of the image of that focus shift.
"""
import sys
import time

import numpy as np
import scipy.fft

mode = sys.argv[1]
numbers = np.fromfile(sys.argv[2])
count, period, wavelength, f_number, pixel_um, aperture, fwhm, coma, width, height, x, y, focus_shift = numbers[:13]
count, period, width, height = int(count), int(period), int(width), int(height)
open_part = numbers[13:].reshape(count, count)
n = 2 * count
step = 2 * wavelength * f_number / 1000 / (period * pixel_um)
light_passed = open_part.sum() * step * step


def window():
    """Takes off the blur of the cells and fades out the rim."""
    at = scipy.fft.fftfreq(n)
    unblur = 1 / np.sinc(at) ** 2
    r = np.sqrt(at * at + (at * at)[:, None])
    t = np.clip((0.5 - r) / (0.5 - 0.42), 0, 1)
    return t * t * (3 - 2 * t) * unblur * unblur[:, None]


def transfer():
    """Seeing and pixels, on the half plane of waves."""
    ky = scipy.fft.fftfreq(n, 1 / n)
    kx = scipy.fft.rfftfreq(n, 1 / n)
    r0 = 0.9758634 * wavelength * 1e-6 / (fwhm * np.pi / 180 / 3600)
    separation = wavelength * aperture * f_number / (period * pixel_um) / 1000
    s = separation / r0 * np.sqrt(kx * kx + (ky * ky)[:, None])
    left = np.exp(-3.441938591146906 * s ** (5 / 3)) * np.sinc(kx / period) * np.sinc(ky / period)[:, None]
    left[n // 2] = 0
    left[:, n // 2] = 0
    return left


def spectrum(focus, window, transfer):
    at = (np.arange(count) + 0.5 - count / 2) * step
    px, py = at, at[:, None]
    square = px * px + py * py
    defocus = -1000 * focus / (8 * f_number * f_number)
    wave_nm = defocus * square + coma * square * px
    slope_x = 2 * defocus * px + coma * (3 * px * px + py * py)
    slope_y = 2 * defocus * py + 2 * coma * px * py
    laplacian = 4 * defocus + 8 * coma * px
    turns = (wave_nm + step * step / 24 * laplacian) / wavelength
    amplitude = open_part * np.sinc(slope_x * (step / wavelength)) * np.sinc(slope_y * (step / wavelength))
    field = scipy.fft.fft2(amplitude * np.exp(2j * np.pi * turns), s=(n, n), overwrite_x=True)
    light = (field.real * field.real + field.imag * field.imag) * window
    return scipy.fft.rfft2(light, overwrite_x=True) * (transfer * (step * step / (n * n * light_passed)))


def render(coefficients, x, y, flux):
    turned = coefficients * np.exp(-2j * np.pi / period * y * scipy.fft.fftfreq(n, 1 / n))[:, None]
    turned *= np.exp(-2j * np.pi / period * x * scipy.fft.rfftfreq(n, 1 / n))
    rows = turned[:period] + turned[period:]
    back = np.roll(rows[::-1, period // 2 : period + 1][:, ::-1], 1, axis=0)
    folded = rows[:, : period // 2 + 1] + back.conj()
    return flux * np.maximum(scipy.fft.irfft2(folded, s=(period, period))[:height, :width], 0)


kept = (window(), transfer())
ready = spectrum(focus_shift, *kept)
done = 0
for line in sys.stdin:
    begin = time.perf_counter()
    for _ in range(int(line)):
        done += 1
        if mode == "render":
            render(ready, x + 0.01 * (done % 50), y, 1e4)
        else:
            tables = kept if mode == "kept" else (window(), transfer())
            render(spectrum(focus_shift + 0.01 * (done % 1000), *tables), x, y, 1e4)
    seconds = time.perf_counter() - begin
    image = render(spectrum(focus_shift, *kept), x, y, 1e4)
    print(seconds, *image.ravel()[::97], flush=True)
