# Trials in which readers, lots and sessions are crossed, made here once, and what lme4 makes of them.
# Rscript crossed.R   (inside this folder; writes crossed_readings.csv and crossed.csv)
# Recorded with R 4.2.2 and lme4 1.1-31.
suppressMessages(library(lme4))
set.seed(20261128)
readings <- NULL
out <- NULL
# a display of three digits, so that what rounding hides is nothing beside the scatter of 0.4
make <- function(trial, readers, lots, sessions, levels, keep, sd) {
  d <- expand.grid(level = levels, session = seq_len(sessions), lot = seq_len(lots), reader = seq_len(readers))
  r <- rnorm(readers, sd = sd[["reader"]]); l <- rnorm(lots, sd = sd[["lot"]]); s <- rnorm(sessions, sd = sd[["session"]])
  d <- d[sort(sample(nrow(d), round(keep * nrow(d)))), ]
  d$shown <- round(d$level + r[d$reader] + l[d$lot] + s[d$session] + rnorm(nrow(d), sd = sd[["rest"]]), 3)
  d$trial <- trial
  readings <<- rbind(readings, d)
}
make("balanced", 4, 3, 5, c(10, 20, 30), 1, c(reader = 0.6, lot = 0.5, session = 0.3, rest = 0.4))
make("many", 12, 8, 10, c(10, 20), 0.2, c(reader = 0.8, lot = 0.4, session = 0.4, rest = 0.4))
make("readers alike", 4, 6, 5, c(10, 20, 30), 1, c(reader = 0, lot = 0.5, session = 0.3, rest = 0.4))
put <- function(trial, quantity, value, se = NA, low = NA, high = NA) {
  f <- function(x) ifelse(is.na(x), "", trimws(formatC(x, digits = 7, format = "g")))
  out <<- rbind(out, data.frame(trial = trial, quantity = quantity, value = f(value), se = f(se), low = f(low), high = f(high)))
}
for (trial in unique(readings$trial)) {
  d <- readings[readings$trial == trial, ]
  d$c <- factor(d$level)
  m <- lmer(shown ~ 0 + c + (1 | reader) + (1 | lot) + (1 | session), d, control = lmerControl(optCtrl = list(xtol_abs = 1e-10, ftol_abs = 1e-12)))
  ci <- suppressWarnings(suppressMessages(confint(m, oldNames = FALSE, quiet = TRUE)))
  fe <- coef(summary(m))
  for (n in rownames(fe)) put(trial, paste("mean", sub("c", "", n)), fe[n, 1], fe[n, 2], ci[n, 1], ci[n, 2])
  sds <- as.data.frame(VarCorr(m))
  for (i in seq_len(nrow(sds))) {
    g <- sds$grp[i]
    row <- if (g == "Residual") "sigma" else paste0("sd_(Intercept)|", g)
    put(trial, paste("sd", g), sds$sdcor[i], NA, ci[row, 1], ci[row, 2])
  }
  for (g in c("reader", "lot", "session")) {
    # against the average of those tried; their own readings alone, without drawing them together
    wide <- lm(shown ~ c + factor(reader) + factor(lot) + factor(session), d,
               contrasts = list("factor(reader)" = contr.sum, "factor(lot)" = contr.sum, "factor(session)" = contr.sum))
    b <- coef(wide); v <- vcov(wide); k <- grep(paste0("factor\\(", g), names(b))
    own <- c(b[k], -sum(b[k])); se <- sqrt(c(diag(v)[k], sum(v[k, k])))
    drawn <- ranef(m)[[g]][[1]]
    for (j in seq_along(own)) {
      put(trial, paste(g, j, "own"), own[j], se[j])
      put(trial, paste(g, j, "drawn"), drawn[j] - mean(drawn))
    }
  }
}
write.csv(readings[, c("trial", "level", "reader", "lot", "session", "shown")], "crossed_readings.csv", row.names = FALSE, quote = FALSE)
write.csv(out, "crossed.csv", row.names = FALSE, quote = FALSE)
