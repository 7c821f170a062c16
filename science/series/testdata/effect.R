# Effect of something done to treated waters, beside control waters: by dense algebra, over the same grid of what waters may do,
# held against nlme::gls where it takes the same model, and t.test where own steps are all there is.
# Rscript effect.R > effect.json
library(nlme)
read <- data.frame(
  water = rep(c("A", "B", "C", "D", "E"), c(8, 7, 9, 8, 6)),
  day = c(0, 7, 14, 22, 30, 37, 45, 51,  0, 8, 15, 30, 36, 45, 52,  1, 7, 13, 21, 24, 30, 36, 43, 50,  0, 7, 14, 22, 30, 37, 45, 51,  2, 9, 16, 31, 38, 46),
  value = c(4.1, 3.8, 4.4, 4.0, 5.2, 5.6, 5.1, 5.5,  6.3, 6.6, 6.0, 7.3, 7.9, 7.4, 7.2,  5.0, 5.3, 5.1, 4.8, 5.2, 5.0, 5.5, 5.3, 5.6,
            3.1, 2.7, 3.3, 3.0, 3.2, 3.6, 3.1, 2.9,  8.2, 8.0, 8.5, 8.6, 8.1, 8.8),
  sd = 0.2 + 0.01 * (0:37 %% 5))
read$after <- as.numeric(read$day >= 28)
treated <- c(A = 1, B = 1, C = 0, D = 0, E = 0)
read$treated <- treated[read$water]
waters <- names(treated)

cov_of <- function(departs, memory, tau) {
  same <- outer(read$water, read$water, "==")
  V <- same * departs^2 * exp(-abs(outer(read$day, read$day, "-")) / memory) + same * tau^2 * outer(read$after, read$after)
  diag(V) <- diag(V) + read$sd^2
  V
}
X <- cbind(outer(read$water, waters, "==") * 1, read$after, read$after * read$treated)
fit <- function(departs, memory, tau) {
  V <- cov_of(departs, memory, tau); Vi <- solve(V)
  A <- t(X) %*% Vi %*% X; b <- solve(A, t(X) %*% Vi %*% read$value); r <- read$value - X %*% b
  list(effect = b[7], se = sqrt(solve(A)[7, 7]), loglik = as.numeric(-0.5 * (determinant(V)$modulus + determinant(A)$modulus + t(r) %*% Vi %*% r)))
}
sizes <- c(0, 0.25, 0.5, 1, 2, 4, 8, 16, 32, 64)
width <- function(p) { n <- length(p); p[pmin(1:n + 1, n)] - p[pmax(1:n - 1, 1)] }
scatter <- mean(read$sd)
step_scale <- mean(sapply(waters, function(w) { a <- read[read$water == w, ]; sqrt(1 / sum(1 / a$sd[a$after == 0]^2) + 1 / sum(1 / a$sd[a$after == 1]^2)) }))
g <- expand.grid(size = sizes, memory = c(35 / 3, 35, 140), own = sizes)
f <- mapply(function(s, m, o) unlist(fit(s * scatter, m, o * step_scale)), g$size, g$memory, g$own)
prior <- log(width(sizes) / (1 + sizes)); names(prior) <- sizes
own <- log(width(sizes) / (1 + sizes^2)); names(own) <- sizes
l <- f["loglik", ] + prior[as.character(g$size)] + own[as.character(g$own)]
w <- exp(l - max(l)); w[w < 1e-4] <- 0; w <- w / sum(w)
below <- function(x) sum(w * pnorm((x - f["effect", ]) / f["se", ]))
q <- function(p) uniroot(function(x) below(x) - p, c(-20, 20), tol = 1e-12)$root
value <- sum(w * f["effect", ]); u <- sqrt(sum(w * (f["se", ]^2 + (f["effect", ] - value)^2)))

# nlme::gls: departures of 0.4 kept for 35 days and one scatter of 0.22 for all readings.
read$sd0 <- read$sd; read$sd <- 0.22
read$w <- factor(read$water); total <- sqrt(0.4^2 + 0.22^2)
m <- gls(value ~ 0 + w + after + after:treated, read, correlation = corExp(c(35, 0.22^2 / total^2), form = ~ day | w, nugget = TRUE, fixed = TRUE),
         method = "REML", control = glsControl(sigma = total))
mine <- fit(0.4, 35, 0)
stopifnot(abs(coef(m)[["after:treated"]] - mine$effect) < 1e-8, abs(as.numeric(logLik(m)) + (38 - 7) / 2 * log(2 * pi) - mine$loglik) < 1e-6)
stopifnot(abs(sqrt(vcov(m)["after:treated", "after:treated"]) - mine$se) < 1e-8)

# t.test: waters whose own steps are all there is; a value before and one after each, hardly any scatter.
steps <- list(treated = c(1.9, 2.6, 1.4, 2.2, 2.9), control = c(0.3, -0.5, 0.6, 0.1, -0.2))
t <- t.test(steps$treated, steps$control, var.equal = TRUE)
cat(sprintf('{"water": [%s],\n "day": [%s],\n "value": [%s],\n "sd": [%s],\n "treated": ["A", "B"],\n "after_from": 28,\n', paste0('"', read$water, '"', collapse = ", "), paste(read$day, collapse = ", "),
  paste(read$value, collapse = ", "), paste(read$sd0, collapse = ", ")))
cat(sprintf(' "effect": %.15g, "u": %.15g, "low": %.15g, "high": %.15g, "below_1": %.15g,\n', value, u, q(0.025), q(0.975), below(1)))
cat(sprintf(' "t_test": {"treated": [%s], "control": [%s], "effect": %.15g, "low": %.15g, "high": %.15g}}\n', paste(steps$treated, collapse = ", "), paste(steps$control, collapse = ", "),
  diff(rev(t$estimate)), t$conf.int[1], t$conf.int[2]))
