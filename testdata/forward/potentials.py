# /usr/bin/python3 testdata/forward/potentials.py > testdata/forward/potentials.tsv
#
# Potentials of dipoles on layered and homogeneous spheres, from the boundary
# conditions themselves: for every degree the linear system of all coefficients
# is solved at 60 digits, and the source expansion is differentiated by mpmath,
# not by a formula. Shares no recursion with the Go code.
from mpmath import mp, mpf, matrix, lu_solve, legendre, diff, sqrt, pi, nstr

mp.dps = 60


def coefficients(radii, sigma, n):
    """Surface value of degree n for the source r^-(n+1) in the innermost shell.

    Shell j holds a_j (r/outer_j)^n + b_j (r/inner_j)^-(n+1); only a_1 is unknown
    in the innermost, whose b belongs to the source.
    """
    shells = len(radii)
    size = 2 * shells - 1
    A, y = matrix(size, size), matrix(size, 1)

    def growing(j, r):
        v = (r / radii[j]) ** n
        return v, n * v / r

    def falling(j, r):
        v = (r / radii[j - 1]) ** -(n + 1) if j else r ** -(n + 1)
        return v, -(n + 1) * v / r

    def put(row, j, r, part, factor):
        A[row, 2 * j - 1 if j else 0] += factor * growing(j, r)[part]
        if j:
            A[row, 2 * j] += factor * falling(j, r)[part]
        else:
            y[row] -= factor * falling(j, r)[part]

    for j in range(shells - 1):
        r = radii[j]
        put(2 * j, j, r, 0, mpf(1))
        put(2 * j, j + 1, r, 0, mpf(-1))
        put(2 * j + 1, j, r, 1, sigma[j])
        put(2 * j + 1, j + 1, r, 1, -sigma[j + 1])
    last = shells - 1
    put(size - 1, last, radii[-1], 1, mpf(1))
    # every row to its largest entry: mpmath judges singularity by size
    for i in range(size):
        top = max(abs(A[i, k]) for k in range(size))
        for k in range(size):
            A[i, k] /= top
        y[i] /= top
    x = lu_solve(A, y)
    return x[2 * last - 1] + x[2 * last] * falling(last, radii[-1])[0]


def potential(radii, sigma, position, moment, sensor, surface):
    """V = q . grad of sum c_n r0^n P_n(cos), the gradient taken along q numerically at 60 digits."""
    length = sqrt(sum(s * s for s in sensor))
    e = [s / length for s in sensor]

    def scalar(h):
        p = [a + h * b for a, b in zip(position, moment)]
        dot = sum(a * b for a, b in zip(p, e))
        square = sum(a * a for a in p)
        # solid harmonics r0^n P_n without dividing by r0
        total, before, now = mpf(0), mpf(1), dot
        for n, c in enumerate(surface, start=1):
            total += c * now
            before, now = now, ((2 * n + 1) * dot * now - n * square * before) / (n + 1)
        return total

    h = mpf(10) ** -20
    slope = (scalar(h) - scalar(-h)) / (2 * h)
    return 1000 * slope / (4 * pi * sigma[0])


def homogeneous(R, sigma, position, moment, sensor):
    """Along q, the derivative of the Neumann function 2/D + log(2R^2/(R^2 - r.r0 + R D))/R."""
    length = sqrt(sum(s * s for s in sensor))
    r = [R * s / length for s in sensor]

    def scalar(h):
        p = [a + h * b for a, b in zip(position, moment)]
        D = sqrt(sum((a - b) ** 2 for a, b in zip(r, p)))
        return 2 / D + mp.log(2 * R * R / (R * R - sum(a * b for a, b in zip(r, p)) + R * D)) / R

    return 1000 * diff(scalar, 0) / (4 * pi * sigma)


models = {
    "one": ([90], ["0.33"]),
    "three": ([80, 85, 92], ["0.33", "0.004125", "0.33"]),
    "four": ([79, 80, 85, 90], ["0.3", "1.5", "0.015", "0.3"]),
}
dipoles = [
    ((0, 0, 0), (10, -20, 5)),
    ((10, -20, 35), (0, 30, -10)),
    ((-41, -52, 11), (12, 9, -7)),
    ((0, 0, 70), (0, 0, 10)),
    ((30, 40, 55), (-8, 6, 0)),
]
sensors = [(0, 0, 1), (1, 0, 0), (-3, -4, 1), (2, 5, 6), (0, 1, -2), (30, 40, 55)]

print("model\tx\ty\tz\tqx\tqy\tqz\tsx\tsy\tsz\tmicrovolts")
for name, (radii, sigma) in models.items():
    radii, sigma = [mpf(r) for r in radii], [mpf(s) for s in sigma]
    surface = [coefficients(radii, sigma, n) for n in range(1, 240)]
    for position, moment in dipoles:
        for sensor in sensors:
            arguments = [[mpf(v) for v in vector] for vector in (position, moment, sensor)]
            if name == "one":
                v = homogeneous(radii[0], sigma[0], *arguments)
            else:
                v = potential(radii, sigma, *arguments, surface)
            print(name, *position, *moment, *sensor, nstr(v, 17), sep="\t")
