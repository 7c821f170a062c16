# Fits and covariances of curves by R's lm and nls, on data made here once.
# Rscript crosscheck.R   (inside this folder; writes crosscheck.csv and crosscheck_points.csv)
# Recorded with R 4.2.2.
set.seed(20260124)
x <- rep(c(0, 0.6, 1.5, 3, 6, 8, 10, 12), each = 3)
truth <- 0.012 - log10((10^(-0.160 * x) + 0.010) / 1.010)
y <- round(truth + rnorm(length(x), sd = 0.006), 4)
write.csv(data.frame(level = x, signal = y), "crosscheck_points.csv", row.names = FALSE)
out <- NULL
keep <- function(name, fit) {
  b <- coef(fit); v <- vcov(fit); s <- summary(fit)$sigma
  q <- c(b, sqrt(diag(v)), v[1, length(b)], s)
  n <- c(paste0("b", seq_along(b) - 1), paste0("se", seq_along(b) - 1), "cov_first_last", "s")
  out <<- rbind(out, data.frame(fit = name, quantity = n, value = formatC(q, digits = 15, format = "g")))
}
w1 <- 1 / pmax(x, 0.6); w2 <- 1 / pmax(x, 0.6)^2
keep("line none", lm(y ~ x))
keep("line 1/x", lm(y ~ x, weights = w1))
keep("line 1/x2", lm(y ~ x, weights = w2))
keep("quadratic none", lm(y ~ x + I(x^2)))
keep("quadratic 1/x", lm(y ~ x + I(x^2), weights = w1))
keep("cubic none", lm(y ~ x + I(x^2) + I(x^3)))
keep("line zero", lm(y ~ 0 + x))
# derivatives in closed form: with nls's own differences only five digits agree
sat <- deriv(~ a + b * x / (1 + q * x), c("a", "b", "q"), function(a, b, q, x) NULL)
stray <- deriv(~ a - log((10^(-e * x) + s) / (1 + s)) / log(10), c("a", "e", "s"), function(a, e, s, x) NULL)
ctl <- nls.control(tol = 1e-9, maxiter = 500, warnOnly = TRUE)
keep("saturating none", nls(y ~ sat(a, b, q, x), start = list(a = 0.01, b = 0.2, q = 0.02), control = ctl))
keep("stray light none", nls(y ~ stray(a, e, s, x), start = list(a = 0.01, e = 0.16, s = 0.01), control = ctl))
keep("stray light 1/x", nls(y ~ stray(a, e, s, x), start = list(a = 0.01, e = 0.16, s = 0.01), weights = w1, control = ctl))
# lack of fit of line and quadratic by analysis of variance against free means
lof <- function(name, fit) out <<- rbind(out, data.frame(fit = name, quantity = "lack_of_fit_p",
  value = formatC(anova(fit, lm(y ~ factor(x)))[2, 6], digits = 15, format = "g")))
lof("quadratic none", lm(y ~ x + I(x^2)))
lof("cubic none", lm(y ~ x + I(x^2) + I(x^3)))
write.csv(out, "crosscheck.csv", row.names = FALSE, quote = FALSE)
