# /usr/bin/python3 testdata/topo/kernels.py > testdata/topo/kernels.tsv
#
# Sum over n >= 1 of (2n+1)/(n(n+1))^q P_n(x), over 4 pi, for q = 2..6, from an
# integral and never by summing the series. Partial fractions give
#     1/(n(n+1))^q = sum_k [c_k/n^k + d_k/(n+1)^k],
# 1/n^k is the integral over t in (0, 1) of t^(n-1) (-log t)^(k-1)/(k-1)!, and
# the sum of (2n+1) P_n(x) t^n is (1-t^2)/(1-2xt+t^2)^(3/2) - 1.
# For q = 2 the dilogarithm checks the integral; at x = 1 zeta values do.
from mpmath import mp, mpf, quad, log, binomial, factorial, polylog, pi, sqrt, nstr, cos, zeta

mp.dps = 50


def partial(q):
    """1/(n(n+1))^q: c_k from expanding (1+n)^-q at n = 0, d_k = (-1)^k c_k by n -> -1-n."""
    c = {q - j: binomial(-q, j) for j in range(q)}
    return c, {k: (-1) ** k * v for k, v in c.items()}


def kernel(q, x):
    c, d = partial(q)
    assert abs(sum(v / mpf(3) ** k for k, v in c.items()) + sum(v / mpf(4) ** k for k, v in d.items()) - mpf(12) ** -q) < mpf(10) ** -45

    def integrand(t):
        with mp.workdps(300):  # the weight's terms cancel to (1-t)^(2q-1) near t = 1
            return +value_at(t)

    def value_at(t):
        s = 1 - t
        # 1 - 2xt + t^2 without cancellation near t = x = 1
        root = sqrt(s * s + 2 * t * (1 - x))
        generating = (1 - t * t) / root ** 3 - 1
        L = -log(t)
        weight = sum(v * L ** (k - 1) / factorial(k - 1) / t for k, v in c.items())
        weight += sum(v * L ** (k - 1) / factorial(k - 1) for k, v in d.items())
        return generating * weight

    with mp.workdps(60):
        near = sqrt(2 * (1 - x))  # width of the peak at t = 1
        marks = {mpf(0), mpf(1), mpf("0.01"), mpf("0.5")}
        marks |= {1 - near * f for f in (mpf("0.1"), 1, 3, 10, 100, 1000) if 0 < near * f < 1}
        value, error = quad(integrand, sorted(marks), error=True, maxdegree=10)
    assert error < mpf(10) ** -22, (q, x, error)
    return value / (4 * pi)


cosines = [-1.0, 1.0]
cosines += [float(cos(pi * (i + mpf(1) / 3) / 36)) for i in range(36)]
cosines += [1 - 2.0 ** -k for k in (6, 8, 10, 13, 17, 20, 24, 28, 36, 44)]
cosines += [-1 + 2.0 ** -10, 0.0]
assert len(cosines) == len(set(cosines)) == 50

at_one = {2: mpf(1), 3: 2 * zeta(3) - 2}
print("q\tx\tkernel")
for q in range(2, 7):
    for x in cosines:
        value = kernel(q, mpf(x))
        if q == 2:
            closed = (polylog(2, (1 + mpf(x)) / 2) + 1 - pi ** 2 / 6) / (4 * pi)
            assert abs(value - closed) < mpf(10) ** -20, (x, value, closed)
        if x == 1 and q in at_one:
            assert abs(4 * pi * value - at_one[q]) < mpf(10) ** -20, (q, 4 * pi * value)
        print(q, repr(x), nstr(value, 20), sep="\t")
