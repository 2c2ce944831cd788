"""Diffraction image of a star in several colors with numpy and scipy.fft: for each color the steps of diffraction.py, the
coefficients of all colors added and transformed back once. Waves finer than two pixels are left out: seeing leaves less
than 1e-6 of them.

usage: diffraction_band.py <mode> <file>     mode: anew, kept (what does not depend on the wavefront is kept)
The file holds doubles: colors, period px, F-number, pixel um, aperture mm, seeing FWHM arcsec, seeing's wavelength nm, coma
nm, width, height, x, y, focus shift um; then of each color its wavelength nm, weight, pupil samples, and the open fraction
of each cell, row by row.
Answers with its seconds, then every 97th pixel of the image of that focus shift.
"""
import sys
import time

import numpy as np
import scipy.fft

mode = sys.argv[1]
numbers = np.fromfile(sys.argv[2])
colors, period, f_number, pixel_um, aperture, fwhm, seeing_nm, coma, width, height, x, y, focus_shift = numbers[:13]
colors, period, width, height = int(colors), int(period), int(width), int(height)


class Color:
    def __init__(self, wavelength, weight, open_part):
        self.wavelength, self.weight, self.open_part = wavelength, weight, open_part
        self.count = len(open_part)
        self.n = 2 * self.count
        self.step = 2 * wavelength * f_number / 1000 / (period * pixel_um)
        self.light_passed = open_part.sum() * self.step**2
        self.kept = self.tables()

    def tables(self):
        at = scipy.fft.fftfreq(self.n)
        unblur = 1 / np.sinc(at) ** 2
        r = np.sqrt(at * at + (at * at)[:, None])
        t = np.clip((0.5 - r) / (0.5 - 0.42), 0, 1)
        window = t * t * (3 - 2 * t) * unblur * unblur[:, None]
        ky = scipy.fft.fftfreq(period, 1 / period)
        kx = scipy.fft.rfftfreq(period, 1 / period)
        r0 = 0.9758634 * seeing_nm * 1e-6 / (fwhm * np.pi / 180 / 3600) * (self.wavelength / seeing_nm) ** 1.2
        separation = self.wavelength * aperture * f_number / (period * pixel_um) / 1000
        s = separation / r0 * np.sqrt(kx * kx + (ky * ky)[:, None])
        left = np.exp(-3.441938591146906 * s ** (5 / 3)) * np.sinc(kx / period) * np.sinc(ky / period)[:, None]
        left[period // 2] = 0
        left[:, period // 2] = 0
        return window, left

    def spectrum(self, focus, window, transfer):
        step, n = self.step, self.n
        at = (np.arange(self.count) + 0.5 - self.count / 2) * step
        px, py = at, at[:, None]
        square = px * px + py * py
        defocus = -1000 * focus / (8 * f_number * f_number)
        wave_nm = defocus * square + coma * square * px
        slope_x = 2 * defocus * px + coma * (3 * px * px + py * py)
        slope_y = 2 * defocus * py + 2 * coma * px * py
        laplacian = 4 * defocus + 8 * coma * px
        turns = (wave_nm + step * step / 24 * laplacian) / self.wavelength
        amplitude = self.open_part * np.sinc(slope_x * (step / self.wavelength)) * np.sinc(slope_y * (step / self.wavelength))
        field = scipy.fft.fft2(amplitude * np.exp(2j * np.pi * turns), s=(n, n), overwrite_x=True)
        light = (field.real * field.real + field.imag * field.imag) * window
        waves = scipy.fft.rfft2(light, overwrite_x=True)
        half = period // 2
        left = np.concatenate([waves[:half, : half + 1], waves[-half:, : half + 1]])
        return left * (transfer * (self.weight * step * step / (n * n * self.light_passed)))


def render(coefficients, x, y, flux):
    turned = coefficients * np.exp(-2j * np.pi / period * y * scipy.fft.fftfreq(period, 1 / period))[:, None]
    turned *= np.exp(-2j * np.pi / period * x * scipy.fft.rfftfreq(period, 1 / period))
    return flux * np.maximum(scipy.fft.irfft2(turned, s=(period, period))[:height, :width], 0)


def image(focus, x, y, is_kept):
    total = 0
    for color in band:
        total = total + color.spectrum(focus, *(color.kept if is_kept else color.tables()))
    return render(total, x, y, 1e4)


band = []
at = 13
for _ in range(colors):
    wavelength, weight, count = numbers[at : at + 3]
    count = int(count)
    band.append(Color(wavelength, weight, numbers[at + 3 : at + 3 + count * count].reshape(count, count)))
    at += 3 + count * count

done = 0
for line in sys.stdin:
    begin = time.perf_counter()
    for _ in range(int(line)):
        done += 1
        image(focus_shift + 0.01 * (done % 1000), x, y, mode == "kept")
    seconds = time.perf_counter() - begin
    print(seconds, *image(focus_shift, x, y, True).ravel()[::97], flush=True)
