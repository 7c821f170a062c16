# Rscript large.R   (R 4.2.2, survival 3.5.3): writes large_cells.csv and large_survreg.csv
# 300 000 made-up readings: a display of resolution 0.5 that is over range at 25,
# and a chart, at five levels; the cells are counted, survreg sees every reading.
suppressMessages(library(survival))
set.seed(20261124)
n <- 300000; level <- sample(c(0, 2.5, 5, 10, 20), n, TRUE); chart <- rep(0:1, length.out = n)
y <- 0.4 + 0.9 * level - 0.3 * chart + rnorm(n, 0, 1.7)
tiles <- c(1.25, 3.75, 7.5, 15); i <- findInterval(y, tiles)
lo <- ifelse(chart == 1, ifelse(i == 0, NA, tiles[pmax(i, 1)]), floor(y * 2) / 2)
hi <- ifelse(chart == 1, ifelse(i == 4, NA, tiles[pmin(i + 1, 4)]), floor(y * 2) / 2 + 0.5)
over <- chart == 0 & y > 20; lo[over] <- 20; hi[over] <- NA
exact <- chart == 0 & level == 5; lo[exact] <- hi[exact] <- round(y[exact], 2)
f <- survreg(Surv(lo, hi, type = "interval2") ~ level + chart, dist = "gaussian",
             control = survreg.control(rel.tolerance = 1e-11, maxiter = 200))
d <- aggregate(list(count = rep(1, n)), list(level = level, chart = chart, lo = ifelse(is.na(lo), -Inf, lo), hi = ifelse(is.na(hi), Inf, hi)), sum)
write.csv(d, "large_cells.csv", row.names = FALSE, quote = FALSE)
se <- sqrt(diag(f$var))
write.csv(data.frame(quantity = c("b0", "level", "chart", "scale", "se_b0", "se_level", "se_chart", "se_log_scale", "loglik"),
  value = sprintf("%.15g", c(coef(f), f$scale, se, f$loglik[2]))), "large_survreg.csv", row.names = FALSE, quote = FALSE)
