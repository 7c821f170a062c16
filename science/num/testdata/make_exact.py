# Makes the *_exact.csv files beside it in 60-digit arithmetic (mpmath 1.3.0):
#   python3 make_exact.py
# Arguments are the exact values of the doubles that are written.
from mpmath import mp, mpf, erfc, sqrt, log, betainc, gammainc, quad, findroot, exp, gamma, loggamma, inf, pi
mp.dps = 60

def num(v): return mp.nstr(v, 20, strip_zeros=False)
def write(name, head, rows):
    with open(name, "w") as f:
        f.write(head + "\n")
        for r in rows:
            f.write(",".join(x if isinstance(x, str) else (repr(x) if isinstance(x, float) else num(x)) for x in r) + "\n")

def Phi(x):
    if x == inf: return mpf(1)
    if x == -inf: return mpf(0)
    return erfc(-mpf(x) / sqrt(mpf(2))) / 2

def phidiff(a, b):
    a, b = mpf(a), mpf(b)
    if a + b > 0: a, b = -b, -a
    mp.dps = 400
    d = Phi(b) - Phi(a)
    r = log(d)
    mp.dps = 60
    return r

xs = [-1e6, -300.0, -100.0, -40.0, -38.5, -37.0, -20.3, -12.5, -12.01, -11.99, -8.123, -5.0, -3.3, -2.0, -1.51, -1.49,
      -1.0, -0.7, -0.3, -0.01, -1e-9, 0.0, 1e-9, 0.01, 0.4, 1.0, 2.5, 5.0, 8.0, 12.0, 20.0, 37.0]
mp.dps = 400
write("normal_exact.csv", "x,phi,log_phi", [(x, Phi(x), log(Phi(x))) for x in xs])

rows = []
for m in [0.0, 0.03, 0.3, 0.9, 1.0, 1.7, 3.0, 4.4, 7.0, 11.9, 12.1, 20.0, 37.5, 100.0, 1000.0]:
    for w in [1e-12, 1e-9, 1e-6, 1e-3, 0.02, 0.1, 0.2, 0.249, 0.251, 0.3, 0.5, 0.9, 1.3, 2.0, 4.0, 9.0, 30.0]:
        a, b = -m - w / 2, -m + w / 2
        if a < b: rows.append((a, b, phidiff(a, b)))
for a, b in [(-1.0, 1.0), (-0.2, 0.3), (1.0, 2.0), (5.0, 9.0), (30.0, 40.0), (-3.0, 0.0), (0.0, 3.0), (8.0, 8.0000001), (-1e5, -99999.9)]:
    rows.append((a, b, phidiff(a, b)))
write("phidiff_exact.csv", "a,b,log_phi_diff", rows)

def tail(t, n):  # P(T > t), t > 0
    t, n = mpf(t), mpf(n)
    return betainc(n / 2, mpf(1) / 2, 0, n / (n + t * t), regularized=True) / 2
rows = []
for n in [0.5, 1.0, 2.0, 2.7, 5.0, 12.0, 30.0, 144.0, 1000.0, 12345.0, 1e6, 1e8]:
    for t in [1e-12, 1e-6, 0.001, 0.3, 1.0, 1.9, 2.6, 4.0, 6.5, 9.0, 20.0]:
        if n >= 12345 and t > 9: continue
        mp.dps = 60
        if n >= 12345:
            # the density by quadrature: the incomplete beta series is slow here
            c = exp(loggamma((mpf(n) + 1) / 2) - loggamma(mpf(n) / 2)) / sqrt(mpf(n) * pi)
            pdf = lambda s: c * (1 + s * s / mpf(n)) ** (-(mpf(n) + 1) / 2)
            mp.dps = 30
            p = quad(pdf, [mpf(t), mpf(t) + 1, mpf(t) + 2, mpf(t) + 4, mpf(t) + 8, mpf(t) + 16, mpf(t) + 40])
            body = quad(pdf, [0, mpf(t)]) if t <= 0.3 else mpf(1) / 2 - p
        else:
            p = tail(t, n)
            body = betainc(mpf(1) / 2, mpf(n) / 2, 0, mpf(t) ** 2 / (n + mpf(t) ** 2), regularized=True) / 2
        rows.append((n, t, p, body))
mp.dps = 60
write("t_exact.csv", "df,t,upper_tail,from_zero_to_t", rows)

rows = []
for k in [0.5, 1.0, 2.0, 3.0, 10.0, 57.0, 400.0]:
    for x in [1e-200, 1e-20, 1e-6, 0.01, 0.5, 1.0, 4.0, 12.0, 40.0, 90.0, 350.0, 500.0]:
        lo = gammainc(mpf(k) / 2, 0, mpf(x) / 2, regularized=True)
        hi = gammainc(mpf(k) / 2, mpf(x) / 2, inf, regularized=True)
        if lo > mpf("1e-300") and hi > mpf("1e-300"): rows.append((k, x, lo, hi))
write("chi2_exact.csv", "df,x,lower,upper", rows)

rows = []
for d1, d2 in [(1.0, 1.0), (1.0, 10.0), (2.0, 3.0), (3.5, 7.2), (5.0, 5.0), (10.0, 1.0), (9.0, 200.0), (100.0, 60.0)]:
    for f in [1e-10, 1e-3, 0.2, 0.9, 1.0, 1.7, 4.0, 30.0, 1e4, 1e9]:
        x = mpf(d1) * mpf(f) / (mpf(d1) * mpf(f) + d2)
        lo = betainc(mpf(d1) / 2, mpf(d2) / 2, 0, x, regularized=True)
        y = mpf(d2) / (mpf(d1) * mpf(f) + d2)
        hi = betainc(mpf(d2) / 2, mpf(d1) / 2, 0, y, regularized=True)
        if lo > mpf("1e-250") and hi > mpf("1e-250"): rows.append((d1, d2, f, lo, hi))
write("f_exact.csv", "d1,d2,f,lower,upper", rows)

rows = []
for n in [1.0, 3.0, 8.0, 25.0, 100.0]:
    for d in [-1.5, 0.5, 2.0, 3.6, 6.0]:
        for t in [-2.0, -0.5, 0.0, 0.8, 1.9, 4.0, 9.0]:
            # P(T ≤ t) = ∫ Φ(t·s/√n − δ) f_χ(s) ds over the chi distribution with n degrees of freedom
            mp.dps = 30
            N, D, T = mpf(n), mpf(d), mpf(t)
            c = 2 ** (1 - N / 2) / gamma(N / 2)
            f = lambda s: Phi(T * s / sqrt(N) - D) * c * s ** (N - 1) * exp(-s * s / 2)
            top = float(sqrt(N)) + 14
            pts = [0] + [mpf(top) * i / 12 for i in range(1, 13)]
            rows.append((n, d, t, quad(f, pts)))
# far out, where the integrand is a narrow step
for n, d, t in [(20.0, 190.0, 200.0), (1000.0, 40.0, 41.0), (5.0, 30.0, 60.0), (2.0, 300.0, 250.0), (20.0, -190.0, -200.0)]:
    mp.dps = 30
    N, D, T = mpf(n), mpf(d), mpf(t)
    c = 2 ** (1 - N / 2) / gamma(N / 2)
    f = lambda s: Phi(T * s / sqrt(N) - D) * c * s ** (N - 1) * exp(-s * s / 2)
    mid, wide = D / T * sqrt(N), sqrt(N) / abs(T)
    pts = sorted(set([mpf(0)] + [mid + k * wide for k in range(-12, 13, 2) if mid + k * wide > 0] + [sqrt(N) * i / 6 for i in range(1, 13)] + [sqrt(N) * 2 + 14]))
    rows.append((n, d, t, quad(f, pts)))
mp.dps = 60
write("noncentral_t_exact.csv", "df,delta,t,cdf", rows)
