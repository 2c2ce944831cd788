"""
One full case from photons to the picture, by numpy alone: nothing here is shared with the packages.

A guide star out of focus is a ring (outer diameter 24 px, obstruction ratio 0.35) blurred by a Gaussian (FWHM 2.8 px). A
thresholded center of mass (2 sigma, electrons above the threshold) measures it in a fixed square window, and a
proportional loop (gain 0.6) takes its share out of each measured offset. The air moves the star by 0.3 px rms per axis
from frame to frame. Two windows: +-20 px, which holds the ring, and +-10 px, which the ring has outgrown.

    python3 test/independent/closed_loop.py [--loops 400] [--frames 300] > test/independent/closed_loop.json

Results, each with its standard error (from independent loops):
  scatterPx       rms of the measured position about its mean for the true place, per axis
  response        slope of the measured position against the true displacement, in the loop's own frames
  residualPx      rms of the mount's error, per axis: what the loop makes of noise and air
  lostFraction    frames without a position
  growthPercent   growth, by that residual alone, of the FWHM of a star in the picture that moves as the mount does, from its summed image
"""

import argparse
import json

import numpy as np

CASE = dict(
    outerDiameterPx=24.0,
    obstructionRatio=0.35,
    blurFwhmPx=2.8,
    fluxE=4000.0,
    backgroundE=10.0,
    readNoiseE=1.5,
    thresholdSigma=2.0,
    proportionalGain=0.6,
    airPx=0.3,
    pictureFwhmPx=3.0,
)
HALF_WINDOWS = (20, 10)
SEED = 20260
FWHM_PER_SIGMA = 2.0 * np.sqrt(2.0 * np.log(2.0))


def radial_profile(case, step=0.02):
    """Light per px^2 of the blurred ring by radius: the ring's polar convolution with the Gaussian, by quadrature.

    I(r) = 1 / A  integral over s from the inner to the outer radius of  exp(-(r^2 + s^2) / 2 q^2) I0(r s / q^2) s / q^2 ds
    """
    outer = case["outerDiameterPx"] / 2
    inner = case["obstructionRatio"] * outer
    q = case["blurFwhmPx"] / FWHM_PER_SIGMA
    nodes, weights = np.polynomial.legendre.leggauss(200)
    s = inner + (outer - inner) * (nodes + 1) / 2
    w = weights * (outer - inner) / 2
    r = np.arange(0, outer + 8 * q, step)[:, None]
    kernel = np.exp(-(r**2 + s**2) / (2 * q**2)) * np.i0(r * s / q**2) * s / q**2
    return r[:, 0], kernel @ w / (np.pi * (outer**2 - inner**2))


def pixel_means(case, half, x, y, radii, profile, order=4):
    """Expected electrons of the star per pixel of the window, for each star center (x, y): Gauss-Legendre in each pixel."""
    nodes, weights = np.polynomial.legendre.leggauss(order)
    places = np.arange(-half, half + 1)[:, None] + nodes / 2
    out = np.zeros((len(x), 2 * half + 1, 2 * half + 1))
    for j in range(order):
        dy2 = (places[:, j] - y[:, None]) ** 2
        for i in range(order):
            dx2 = (places[:, i] - x[:, None]) ** 2
            r = np.sqrt(dy2[:, :, None] + dx2[:, None, :])
            light = np.interp(r.ravel(), radii, profile, right=0.0).reshape(r.shape)
            out += light * (weights[i] * weights[j] / 4)
    return out * case["fluxE"]


def measure(case, frames):
    """Thresholded center of mass of each frame, px from the middle of the window; NaN where no pixel is above."""
    half = frames.shape[1] // 2
    empty_sigma = np.sqrt(case["backgroundE"] + case["readNoiseE"] ** 2)
    light = np.maximum(0.0, frames - case["backgroundE"] - case["thresholdSigma"] * empty_sigma)
    total = light.sum(axis=(1, 2))
    places = np.arange(-half, half + 1)
    with np.errstate(invalid="ignore", divide="ignore"):
        x = (light.sum(axis=1) @ places) / total
        y = (light.sum(axis=2) @ places) / total
    return x, y


def run_loops(case, half, loops, frames, random):
    """Displacements by the air, true and measured places, and the mount's error, each of shape [frames, 2, loops], after the loop has settled."""
    radii, profile = radial_profile(case)
    settle = 20
    # Where the star rests in its pixel; the set point is what the method says of it without noise or motion.
    rest = random.uniform(-0.5, 0.5, (2, loops))
    mount = np.zeros((2, loops))
    air = np.empty((frames, 2, loops))
    true = np.empty((frames, 2, loops))
    found = np.empty((frames, 2, loops))
    error = np.empty((frames, 2, loops))
    set_point = np.array(measure(case, case["backgroundE"] + pixel_means(case, half, *rest, radii, profile)))
    for frame in range(-settle, frames):
        moved = case["airPx"] * random.standard_normal((2, loops))
        place = rest + mount + moved
        expected = case["backgroundE"] + pixel_means(case, half, *place, radii, profile)
        pixels = random.poisson(expected) + case["readNoiseE"] * random.standard_normal(expected.shape)
        measured = np.array(measure(case, pixels))
        if frame >= 0:
            air[frame] = moved
            true[frame] = place - rest
            found[frame] = measured - set_point
            error[frame] = mount
        offset = np.where(np.isnan(measured), 0.0, measured - set_point)
        mount = mount - case["proportionalGain"] * offset
    return air, true, found, error


def response_sums(air, true, found):
    """Sums whose ratio is the slope of the found place against the true one, both axes of one loop.

    The air's own displacement is the instrument: nothing that was measured before has a part in it, whereas the mount's
    place carries the noise of the frames before.
    """
    ok = np.isfinite(found[:, 0])
    air = air[ok] - air[ok].mean(axis=0)
    return (air * found[ok]).sum(), (air * true[ok]).sum()


def picture_fwhm(case, dx, dy):
    """FWHM of a Gaussian star whose center takes each of the places in turn: from the mean of its images, on radii."""
    sigma = case["pictureFwhmPx"] / FWHM_PER_SIGMA
    r = np.linspace(0.0, case["pictureFwhmPx"], 601)
    angles = np.arange(8) * np.pi / 8
    mean = np.zeros_like(r)
    for angle in angles:
        # A line through the mean place in both directions; the mean over lines is the mean profile.
        cx, cy = np.cos(angle), np.sin(angle)
        for sign in (-1, 1):
            px, py = sign * r * cx, sign * r * cy
            for part in np.array_split(np.arange(len(dx)), max(1, len(dx) // 2000)):
                d2 = (px[:, None] - dx[part]) ** 2 + (py[:, None] - dy[part]) ** 2
                mean += np.exp(-d2 / (2 * sigma**2)).sum(axis=1)
    mean /= mean[0]
    at = np.argmax(mean < 0.5)
    return 2 * (r[at - 1] + (r[at] - r[at - 1]) * (mean[at - 1] - 0.5) / (mean[at - 1] - mean[at]))


def jackknife(values, statistic):
    """Statistic of all groups, and its standard error from leaving one group out in turn."""
    n = len(values)
    whole = statistic(values)
    less = np.array([statistic(values[:i] + values[i + 1 :]) for i in range(n)])
    return float(whole), float(np.sqrt((n - 1) / n * ((less - less.mean()) ** 2).sum()))


def run_case(case, half, loops, frames, seed, groups=20):
    air, true, found, error = run_loops(case, half, loops, frames, np.random.default_rng([seed, half]))
    sums = [response_sums(air[:, :, i], true[:, :, i], found[:, :, i]) for i in range(loops)]
    grouped = [list(part) for part in np.array_split(np.arange(loops), groups)]
    # Each loop about its own mean: a set point that is off costs nothing.
    still = error - error.mean(axis=0)

    def response_of(members):
        return sum(sums[i][0] for i in sum(members, [])) / sum(sums[i][1] for i in sum(members, []))

    def scatter_of(members):
        part = sum(members, [])
        rest = found[:, :, part] - response_of(members) * true[:, :, part]
        return np.sqrt(np.nanvar(rest, axis=0, ddof=1).mean())

    def residual_of(members):
        return np.sqrt(error[:, :, sum(members, [])].var(axis=0, ddof=1).mean())

    def growth_of(members):
        part = still[::5, :, sum(members, [])]
        return 100 * (picture_fwhm(case, part[:, 0].ravel(), part[:, 1].ravel()) / case["pictureFwhmPx"] - 1)

    growths = [growth_of([members]) for members in grouped]
    results = dict(
        scatterPx=jackknife(grouped, scatter_of),
        response=jackknife(grouped, response_of),
        residualPx=jackknife(grouped, residual_of),
        growthPercent=(np.mean(growths), np.std(growths, ddof=1) / np.sqrt(groups)),
    )
    return dict(
        halfWindowPx=half,
        frames=loops * frames,
        lostFraction=float(np.mean(~np.isfinite(found[:, 0]))),
        **{
            name: dict(value=float(f"{value:.5g}"), standardError=float(f"{standard_error:.2g}"))
            for name, (value, standard_error) in results.items()
        },
    )


def main():
    parser = argparse.ArgumentParser(description="Closed loop on a ring, from photons to the picture")
    parser.add_argument("--loops", type=int, default=400)
    parser.add_argument("--frames", type=int, default=300)
    options = parser.parse_args()
    results = [run_case(CASE, half, options.loops, options.frames, SEED) for half in HALF_WINDOWS]
    print(json.dumps(dict(program="closed_loop.py", seed=SEED, case=CASE, results=results), indent=2))


if __name__ == "__main__":
    main()
