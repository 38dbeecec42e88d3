"""Second opinion for the measures, by scipy. Draws seeded cases and works each
out in its own way: steps on a grid twenty times finer than the samples,
margins by root finding, sine fits by general least squares, spectra by Welch.
Usage: oracle.py SEED COUNT; prints one JSON document."""
import json
import sys

import numpy as np
from scipy import optimize, signal

RATE = 500.0
FINE = 20  # grid points per sample


def response(num, den, length):
    """Unit-step response at the sampling rate and on the fine grid."""
    n = int(length * RATE)
    fine = np.arange(n * FINE + 1) / (RATE * FINE)
    _, y = signal.step((num, den), T=fine)
    return fine, y, y[::FINE]


def stays(t, y, centre, half):
    """When y enters centre ± half for good."""
    outside = np.nonzero(np.abs(y - centre) > half)[0]
    return 0.0 if len(outside) == 0 else t[min(outside[-1] + 1, len(t) - 1)]


def set_point(rng):
    zeta, wn = rng.uniform(0.15, 1.3), rng.uniform(2, 8)
    lead = rng.uniform(0, 0.5) / wn  # a zero, as PI control makes
    num, den = [wn**2 * lead, wn**2], [1, 2 * zeta * wn, wn**2]
    slow = -np.roots(den).real.max()
    t, y, coarse = response(num, den, 15 / slow + 1)
    t10 = t[np.argmax(y >= 0.1)]
    t90 = t[np.argmax(y >= 0.9)]
    return dict(y=coarse.tolist(), overshoot=100 * max(0, y.max() - 1), rise=t90 - t10,
                settling2=stays(t, y, 1, 0.02), settling5=stays(t, y, 1, 0.05))


def load(rng):
    """PI governor on a lag, load at its input: y/load = b s/(s² + ...)."""
    k, tau = rng.uniform(1, 4), rng.uniform(0.3, 1.5)
    kp, ti = rng.uniform(0.5, 3), rng.uniform(0.2, 1)
    num = [k / tau, 0]
    den = [1, (1 + k * kp) / tau, k * kp / (ti * tau)]
    slow = -np.roots(den).real.max()
    length = min(15 / slow + 1, 60)
    t, y, coarse = response(num, den, length)
    peak = y.max()
    half = rng.uniform(0.05, 0.5) * peak
    exit_ = t[np.argmax(y > half)]
    return dict(y=coarse.tolist(), k=k, tau=tau, kp=kp, ti=ti, half=half, peak=peak,
                peak_time=t[y.argmax()], exit=exit_, back=stays(t, y, 0, half),
                final=float(abs(y[-1]) / peak))


def margins(rng):
    kp, ti, delay = rng.uniform(0.3, 2), rng.uniform(0.3, 3), rng.uniform(0.02, 0.3)
    gain, tau, tau2 = rng.uniform(1, 3), rng.uniform(0.3, 2), rng.uniform(0.01, 0.1)

    def loop(w):
        s = 1j * w
        return kp * (1 + 1 / (ti * s)) * np.exp(-delay * s) * gain / (tau * s + 1) / (tau2 * s + 1)

    def phase(w):
        return (np.arctan(w * ti) - np.pi / 2 - w * delay - np.arctan(w * tau) - np.arctan(w * tau2))

    wc = optimize.brentq(lambda w: np.log(abs(loop(w))), 1e-3, 1e3)
    pm = np.pi + phase(wc)
    w180 = optimize.brentq(lambda w: phase(w) + np.pi, 1e-2, 1.8 * np.pi / delay)
    w = np.logspace(-2, 3, 20001)
    i = np.argmax(1 / abs(1 + loop(w)))
    ms = optimize.minimize_scalar(lambda x: -1 / abs(1 + loop(x)), bounds=(w[i - 1], w[i + 1]), method="bounded",
                                  options=dict(xatol=1e-9))
    return dict(kp=kp, ti=ti, delay=delay, gain=gain, tau=tau, tau2=tau2, crossover=wc,
                phase=np.degrees(pm), delay_margin=pm / wc, phase_crossover=w180,
                gain_margin=1 / abs(loop(w180)), sensitivity=-ms.fun)


def sine(rng):
    f, a, p, c = rng.uniform(0.5, 6), rng.uniform(5, 200), rng.uniform(0, 6), rng.uniform(1000, 17000)
    t = np.sort(rng.uniform(0, 10, 2000))
    t = t[np.insert(np.diff(t) > 1e-6, 0, True)]
    y = a * np.cos(2 * np.pi * f * t + p) + c + rng.normal(0, 0.2 * a, len(t))
    model = lambda t, f, a, b, c: a * np.cos(2 * np.pi * f * t) + b * np.sin(2 * np.pi * f * t) + c
    fit, cov = optimize.curve_fit(model, t, y, p0=[f, a * np.cos(p), -a * np.sin(p), c], xtol=1e-14, ftol=1e-14)
    return dict(t=t.tolist(), y=y.tolist(), start=f * 1.004, frequency=fit[0],
                amplitude=float(np.hypot(fit[1], fit[2])), level=fit[3], error=float(np.sqrt(cov[0, 0])))


def lines(rng):
    """A line seen through noise: response and coherence, Welch without overlap."""
    period, periods, harmonic = 2.0, 12, int(rng.integers(2, 20))
    n = int(period * RATE)
    t = np.arange(n * periods) / RATE
    x = 10 * np.cos(2 * np.pi * harmonic / period * t) + rng.normal(0, 3, len(t))
    y = 25 * np.cos(2 * np.pi * harmonic / period * t - rng.uniform(0.2, 2)) + rng.normal(0, 30, len(t))
    _, coherence = signal.coherence(x, y, RATE, window="boxcar", nperseg=n, noverlap=0, detrend="constant")
    segments = np.fft.rfft(y.reshape(periods, n)).mean(0) / np.fft.rfft(x.reshape(periods, n)).mean(0)
    return dict(period=period, harmonic=harmonic, x=x.tolist(), y=y.tolist(),
                coherence=coherence[harmonic], re=segments[harmonic].real, im=segments[harmonic].imag)


def hunting(rng):
    """A cycle of any shape in noise: its frequency by a padded periodogram, its
    swing by folding it into a mean cycle."""
    f, size, width = rng.uniform(0.7, 6), rng.uniform(50, 500), rng.uniform(0.3, 0.7)
    t = np.arange(int(rng.uniform(9, 20) / f * RATE)) / RATE
    clean = size * signal.sawtooth(2 * np.pi * f * t, width)
    clean = np.convolve(np.pad(clean, 50, mode="reflect"), np.ones(51) / 51, "same")[50:-50]
    y = clean + rng.normal(0, 0.05 * size, len(t))
    fs, p = signal.periodogram(y, RATE, window="hann", nfft=1 << 18)
    seen = fs[p.argmax()]
    k = (t * f * 50).astype(int) % 50
    cycle = np.array([clean[100:-100][k[100:-100] == i].mean() for i in range(50)])
    return dict(y=y.tolist(), frequency=seen, swing=float(np.ptp(cycle)))


def sluggish(rng):
    """A load step under a PI governor with a slow integral: when it is back."""
    k, tau = rng.uniform(2, 4), rng.uniform(0.4, 1)
    kp, ti = rng.uniform(1, 3), rng.uniform(3, 10)
    t, y, coarse = response([k / tau, 0], [1, (1 + k * kp) / tau, k * kp / (ti * tau)], 31)
    peak = y.max()
    half = rng.uniform(0.1, 0.6) * peak
    length = rng.uniform(3, 30)
    return dict(y=coarse[: int(length * RATE)].tolist(), half=half, peak=peak, length=length,
                back=stays(t, y, 0, half), left=float(coarse[int(length * RATE) - 1]))


rng, count = np.random.default_rng(int(sys.argv[1])), int(sys.argv[2])
json.dump({kind.__name__: [kind(rng) for _ in range(count)]
           for kind in (set_point, load, margins, sine, lines, hunting, sluggish)}, sys.stdout)
