# Levels of six spans that may have changed once or twice: the restricted likelihood of a wandering, averaged over the
# changes, by dense algebra (solve, det) and, for one change, by nlme::gls (REML) with that covariance. Run: Rscript regimes.R
day <- c(0, 28, 56, 84, 119, 147); y <- c(4.1, 3.8, 4.4, 7.9, 9.2, 8.7)
own <- c(.10, .12, .09, .20, .25, .22); shared <- c(.2, .2, .2, -.1, -.1, -.1); kept <- c(.8, .82, .81, .79, .8, .78)
n <- length(y); one <- rep(1, n); R <- diff(range(y))
cov <- function(w) diag(own) + shared %o% shared + w * sqrt(kept %o% kept) * exp(-abs(outer(day, day, "-")) / 35)
reml <- function(w, X) { V <- cov(w); W <- solve(V); B <- t(X) %*% W %*% X; r <- y - X %*% solve(B, t(X) %*% W %*% y)
  p <- ncol(X) - 1; -.5 * (log(det(V)) + log(det(B)) + sum(r * (W %*% r))) + p * (.5 * log(2 * pi) - log(2 * R)) }
step <- c(lapply(1:(n - 1), function(j) as.numeric(seq_len(n) > j)), lapply(2:(n - 1), function(j) ifelse(seq_len(n) > j, 1, ifelse(seq_len(n) == j, .5, 0))))
more <- list(); for (j in 2:(n - 1)) for (f in c(.2, .8)) more <- c(more, list(ifelse(seq_len(n) > j, 1, ifelse(seq_len(n) == j, f, 0))))
for (i in 1:(n - 2)) for (j in (i + 2):n) more <- c(more, list(pmin(1, pmax(0, (day - day[i]) / (day[j] - day[i])))))
ll <- function(w) { k0 <- exp(reml(w, cbind(one))); k1 <- sapply(c(step, more), function(c) exp(reml(w, cbind(one, c))))
  k2 <- c(); for (a in 2:length(step)) for (b in 1:(a - 1)) k2 <- c(k2, exp(reml(w, cbind(one, step[[a]], step[[b]]))))
  log(k0 + mean(k1) + mean(k2)) }
print(sapply(c(0, .05, .5, 3), ll), digits = 12)
suppressMessages(library(nlme)) # the same for one change, but for constants
V <- cov(.5); L <- t(chol(V)); d <- data.frame(y = solve(L, y), a = solve(L, one), b = solve(L, step[[3]]))
g <- gls(y ~ a + b - 1, d, control = glsControl(sigma = 1)); X <- cbind(one, step[[3]])
print(c(as.numeric(logLik(g)) - sum(log(diag(L))) + .5 * (n - 2) * log(2 * pi), reml(.5, X) - (.5 * log(2 * pi) - log(2 * R))), digits = 12)
