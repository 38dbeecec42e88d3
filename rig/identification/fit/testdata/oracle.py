"""Draws laws, their answers with noise, and fits them by scipy, which knows
nothing of this project. Prints JSON."""
import json

import numpy as np
from scipy.optimize import least_squares

rng = np.random.default_rng(1959)
frequency = np.array([0.25, 0.375, 0.5, 0.75, 1, 1.25, 1.625, 2.125, 2.75, 3.625, 4.75, 6.125, 8])
jw = 2j * np.pi * frequency

# gain, dead time, integral, derivative, derivative lag, measure lag, rise, turns
orders = {
    "P": [0, 1], "PI": [0, 1, 2], "PI lag": [0, 1, 2, 5], "PID": [0, 1, 2, 3, 4],
    "PI rise": [0, 1, 2, 6], "PI turns": [0, 7, 2], "PID rise turns": [0, 1, 2, 3, 4, 6, 7],
}


def law(p, share, turn):
    c = np.ones_like(jw)
    if p[2] > 0:
        c = c + 1 / (p[2] * jw)
    if p[3] > 0:
        c = c + p[3] * jw / (1 + p[4] * jw)
    if p[5] > 0:
        c = c / (1 + p[5] * jw)
    return p[0] * (1 + p[6] * share) * c * np.exp(-jw * (p[1] + p[7] * turn))


def case(name, terms):
    p = np.zeros(8)
    p[0] = rng.uniform(1e-3, 6e-3)
    p[1] = rng.uniform(5e-3, 20e-3)
    ranges = {2: (0.4, 2), 3: (0.04, 0.1), 4: (0.01, 0.025), 5: (0.02, 0.05), 6: (0.4, 1.2), 7: (1.5, 3)}
    for t in terms:
        if t in ranges:
            p[t] = rng.uniform(*ranges[t])
    if 1 not in terms:
        p[1] = 0
    sets = []
    for share, rpm in [(0.3, 12000), (0.55, 12000), (0.4, 14500), (0.7, 14500), (0.5, 17000), (0.8, 17000)]:
        h = law(p, share, 60 / rpm)
        sigma = 0.01 * np.abs(h)
        h = h + sigma * (rng.standard_normal(h.size) + 1j * rng.standard_normal(h.size))
        sets.append((share, rpm, h, sigma))

    def residuals(x):
        q = np.zeros(8)
        q[terms] = x * p[terms]
        parts = [(h - law(q, share, 60 / rpm)) / sigma for share, rpm, h, sigma in sets]
        e = np.concatenate(parts)
        return np.concatenate([e.real, e.imag])

    best = least_squares(residuals, np.ones(len(terms)), method="lm", xtol=1e-14, ftol=1e-14)
    covariance = np.linalg.inv(best.jac.T @ best.jac)
    fitted, error = np.zeros(8), np.zeros(8)
    fitted[terms] = best.x * p[terms]
    error[terms] = np.sqrt(np.diag(covariance)) * p[terms]
    return {
        "Name": name, "Terms": terms, "True": p.tolist(), "Fitted": fitted.tolist(), "Error": error.tolist(), "Cost": 2 * best.cost,
        "Sets": [{"Share": s, "RPM": r, "Re": h.real.tolist(), "Im": h.imag.tolist(), "Sigma": g.tolist()} for s, r, h, g in sets],
    }


print(json.dumps({"Frequency": frequency.tolist(), "Cases": [case(n, t) for n, t in orders.items() for _ in range(2)]}))
