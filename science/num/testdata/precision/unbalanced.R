# Rscript unbalanced.R > unbalanced.csv   (R 4.2.2, lme4 1.1.31)
# REML of unbalanced sets two ways: lme4, and the root of the restricted
# likelihood's derivative written out with dense matrices (the columns `root_*`).
suppressMessages(library(lme4))
reml <- function(y, g) {
  n <- length(y); X <- matrix(1, n); Z <- model.matrix(~ factor(g) - 1)
  P <- function(r) { Hi <- solve(diag(n) + r * Z %*% t(Z)); Hi - Hi %*% X %*% solve(t(X) %*% Hi %*% X) %*% t(X) %*% Hi }
  slope <- function(r) { p <- P(r); q <- t(Z) %*% p %*% y; sum(diag(t(Z) %*% p %*% Z)) - (n - 1) * sum(q^2) / drop(t(y) %*% p %*% y) }
  r <- uniroot(slope, c(1e-3, 1e3), tol = 1e-15, maxiter = 10000)$root
  s2 <- drop(t(y) %*% P(r) %*% y) / (n - 1); Hi <- solve(diag(n) + r * Z %*% t(Z)); v <- 1 / sum(Hi)
  c(sqrt(r * s2), sqrt(s2), v * sum(Hi %*% y), sqrt(v * s2))
}
show <- function(name, y, g) {
  f <- suppressMessages(lmer(y ~ 1 + (1 | g), data = data.frame(y = y, g = factor(g)), control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14, maxeval = 1e5))))
  v <- as.data.frame(VarCorr(f))$sdcor
  cat(name, sprintf("%.15g", c(reml(y - mean(y), g) + c(0, 0, mean(y), 0), v, REMLcrit(f))), sep = ","); cat("\n")
}
cat("set,root_sd_group,root_sd_residual,root_mean,root_se_mean,lme4_sd_group,lme4_sd_residual,lme4_criterion\n")
d <- read.csv("iso5725_coal_sulfur.csv"); for (l in c(1, 3)) { e <- d[d$level == l, ]; show(paste0("coal sulfur level ", l), e$result, e$lab) }
d <- read.csv("rail.csv")[-c(2, 3, 7, 11), ]; show("rail less four", d$travel, d$Rail)
d <- read.csv("dyestuff.csv")[-c(1, 6, 7, 8, 20, 30), ]; show("dyestuff less six", d$Yield, d$Batch)
