#!/usr/bin/python3
"""Compares the most probable values, their covariance and evidence, and the geometric
circle, with SciPy's least squares, which shares nothing with them.

test_probable.py PROBABLE_PROGRAM
"""
import math
import subprocess
import sys

import numpy
from scipy import integrate, optimize, stats

# In standard deviations of each unknown; SciPy stops at steps of 1e-15 of its own.
TOLERANCE_SD = 1e-5
TOLERANCE_COVARIANCE = 1e-4
# A central difference of SciPy's in double precision.
TOLERANCE_CIRCLE = 1e-6


def decay(p, data):
    x, y = data.T
    return p[0] * numpy.exp(-p[1] * x) + p[2] - y


def path(p, data):
    a, x, y = data.T
    a = a + p[4]
    return numpy.concatenate([p[0] + p[2] * numpy.sin(a) * math.cos(p[3]) - x,
                              p[1] + p[2] * numpy.cos(a) - y])


def run(program, model, huber, differences, prior, data):
    text = f"{model} {huber!r} {differences} {len(data)}\n"
    text += "\n".join(f"{m!r} {s!r}" for m, s in prior) + "\n"
    text += "\n".join(" ".join(repr(float(v)) for v in row) for row in data)
    done = subprocess.run([program], input=text, text=True, capture_output=True, check=True)
    lines = done.stdout.split("\n")
    assert lines[0] == "1", (model, huber, "did not converge")
    values = numpy.array([float(v) for v in lines[1].split()])
    n = len(prior)
    return values[:n], values[n:n + n * n].reshape(n, n), values[-2], values[-1]


def huber_loss(count, huber):
    """SciPy's form: rho(z), z = r^2, with first and second derivative; the rows of the
    priors, which come after the first `count`, stay squares."""
    def loss(z):
        rho = numpy.array([z, numpy.ones_like(z), numpy.zeros_like(z)])
        far = z > huber ** 2
        far[count:] = False
        root = numpy.sqrt(z[far])
        rho[0, far] = 2 * huber * root - huber ** 2
        rho[1, far] = huber / root
        rho[2, far] = -0.5 * huber / root ** 3
        return rho
    return loss


def reference(model, huber, prior, data):
    mean, sd = numpy.array(prior).T
    count = len(model(mean, data))

    def rows(p):
        return numpy.concatenate([model(p, data), (p - mean) / sd])
    found = optimize.least_squares(
        rows, mean, jac="3-point", x_scale=sd, xtol=1e-15, ftol=1e-15, gtol=1e-15,
        max_nfev=2000, loss=huber_loss(count, huber) if huber else "linear")
    jacobian = optimize._numdiff.approx_derivative(rows, found.x, method="3-point")
    residual = rows(found.x)
    weight = numpy.ones(len(residual))
    if huber:
        far = numpy.abs(residual) > huber
        far[count:] = False
        weight[far] = huber / numpy.abs(residual[far])
    covariance = numpy.linalg.inv(jacobian.T @ (weight[:, None] * jacobian))
    return found.x, covariance


def invented(model, rng):
    """Priors, and measurements of a truth drawn from them."""
    if model is decay:
        prior = [(50.0, 20.0), (0.8, 0.3), (5.0, 10.0)]
        truth = [rng.normal(m, s / 2) for m, s in prior]
        x = numpy.linspace(0, 5, 60)
        data = numpy.column_stack([x, numpy.zeros_like(x)])
    else:
        prior = [(0.0, 12.0), (-20.0, 12.0), (120.0, 10.0), (0.2, 0.15), (0.0, 0.05)]
        truth = [rng.normal(m, s / 2) for m, s in prior]
        a = numpy.linspace(0.05, rng.uniform(0.8, 2.9), 150)
        data = numpy.column_stack([a, numpy.zeros((len(a), 2))])
    made = model(truth, data)
    made = made + rng.normal(0, 1, len(made))
    data[:, -1 if model is decay else slice(1, 3)] = (
        made if model is decay else made.reshape(2, -1).T)
    return prior, data


def check_fits(program, rng):
    checked = 0
    for model, name in ((decay, "decay"), (path, "path")):
        for turn in range(12):
            prior, data = invented(model, rng)
            huber = 0.0 if turn % 2 == 0 else 1.345
            if huber:
                data[::9, -1] += 25
            want, want_covariance = reference(model, huber, prior, data)
            sd = numpy.sqrt(numpy.diag(want_covariance))
            for differences in (0, 1):
                got, covariance, _, _ = run(program, name, huber, differences, prior, data)
                worst = numpy.max(numpy.abs(got - want) / sd)
                assert worst < TOLERANCE_SD, (name, turn, differences, worst)
                worst = numpy.max(numpy.abs(covariance - want_covariance) /
                                  numpy.outer(sd, sd))
                assert worst < TOLERANCE_COVARIANCE, (name, turn, differences, worst)
                checked += 1
    print(f"{checked} fits agree with SciPy within {TOLERANCE_SD:g} standard deviations")


def check_evidence(program, rng):
    """Where the other unknowns are as good as known, against an integral over the one that
    is curved; the linear ones are exact."""
    prior = [(50.0, 1e-6), (0.8, 0.3), (5.0, 1e-6)]
    x = numpy.linspace(0, 5, 60)
    data = numpy.column_stack([x, 50 * numpy.exp(-x) + 5 + rng.normal(0, 1, 60)])
    p, covariance, _, log_evidence = run(program, "decay", 0.0, 0, prior, data)
    peak = -0.5 * numpy.sum(decay(p, data) ** 2)

    def density(b):
        r = decay([50.0, b, 5.0], data)
        return math.exp(-0.5 * numpy.sum(r ** 2) - peak) * stats.norm.pdf(b, 0.8, 0.3)
    sd = math.sqrt(covariance[1, 1])
    area, _ = integrate.quad(density, p[1] - 12 * sd, p[1] + 12 * sd)
    want = math.log(area) + peak - 30 * math.log(2 * math.pi)
    assert abs(log_evidence - want) < 0.01, (log_evidence, want)

    # With the rate as good as known the model is linear.
    prior = [(50.0, 20.0), (0.8, 1e-9), (5.0, 10.0)]
    _, _, _, log_evidence = run(program, "decay", 0.0, 0, prior, data)
    design = numpy.column_stack([numpy.exp(-0.8 * x), numpy.ones(60)])
    spread = design @ numpy.diag([400.0, 100.0]) @ design.T + numpy.eye(60)
    want = stats.multivariate_normal.logpdf(data[:, 1], design @ [50.0, 5.0], spread)
    assert abs(log_evidence - want) < 1e-5, (log_evidence, want)
    print("evidence agrees with SciPy's integral and density")


def circle(program, points):
    text = f"circle {len(points)}\n" + "\n".join(f"{x!r} {y!r}" for x, y in points.tolist())
    done = subprocess.run([program], input=text, text=True, capture_output=True, check=True)
    return numpy.array([float(v) for v in done.stdout.split()])


def check_circles(program, rng):
    # Gander, Golub and Strebel, BIT 34, 1994. The algebraic circle of unit vector, which
    # the paper prints as 5.3794 7.2532 3.0370, shows that these are its points.
    points = numpy.array([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)], dtype=float)
    x, y = points.T
    design = numpy.column_stack([x * x + y * y, x, y, numpy.ones(6)])
    a, b, c, d = numpy.linalg.svd(design)[2][3]
    centre = -b / (2 * a), -c / (2 * a)
    radius = math.sqrt(centre[0] ** 2 + centre[1] ** 2 - d / a)
    numpy.testing.assert_allclose([*centre, radius], [5.3794, 7.2532, 3.0370], atol=5e-5)

    for arc_deg in (20, 45, 90, 180, 350):
        for _ in range(4):
            angle = numpy.radians(numpy.linspace(0, arc_deg, 100)) + rng.uniform(0, 6)
            points = numpy.column_stack([300 + 120 * numpy.cos(angle),
                                         200 + 120 * numpy.sin(angle)])
            points += rng.normal(0, 0.3, points.shape)

            def distance(p):
                return numpy.hypot(points[:, 0] - p[0], points[:, 1] - p[1]) - p[2]
            want = optimize.least_squares(distance, [300, 200, 120], xtol=1e-15, ftol=1e-15,
                                          gtol=1e-15, x_scale="jac").x
            got = circle(program, points)
            worst = float(numpy.max(numpy.abs(got - want)))
            assert worst < TOLERANCE_CIRCLE * 120, (arc_deg, worst)
    print("20 circles agree with SciPy")


def main():
    program = sys.argv[1]
    rng = numpy.random.default_rng(1)
    check_fits(program, rng)
    check_evidence(program, rng)
    check_circles(program, rng)


if __name__ == "__main__":
    main()
