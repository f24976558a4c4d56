# What one would write in R, timed in process. Prints {"seconds": [...], "processor": [...], "checks": {...}}.
#   Rscript timed.R WORK FILE RUNS      FILE as make_scores.py totals writes it
#   bca           limits of ICC(2,1) by boot and boot.ci, 10,000 resamples of the cases, closed form inside
#   reml          variance components by lme4, its default optimizer
#   reml-tight    the same with bobyqa and a tolerance of 1e-10
# boot 1.3-28.1, lme4 1.1-31.
options(digits = 17)
a <- commandArgs(trailingOnly = TRUE)
d <- read.csv(a[2])
runs <- as.integer(a[3])

timed <- function(work, check) {
  took <- lapply(seq_len(runs), function(i) { gc(FALSE); system.time(made <<- work()) })
  say <- function(x) paste(format(x, digits = 17), collapse = ", ")
  seconds <- say(vapply(took, function(t) t[["elapsed"]], 0))
  processor <- say(vapply(took, function(t) t[["user.self"]] + t[["sys.self"]], 0))
  checks <- check(made)
  named <- paste0('"', names(checks), '": ', format(checks, digits = 17), collapse = ", ")
  cat(sprintf('{"seconds": [%s], "processor": [%s], "checks": {%s}}\n', seconds, processor, named))
}

# Shrout & Fleiss 1979, two-way random effects, one rater.
icc <- function(m) {
  n <- nrow(m); k <- ncol(m); grand <- mean(m)
  rows <- k * sum((rowMeans(m) - grand)^2); columns <- n * sum((colMeans(m) - grand)^2)
  bms <- rows / (n - 1); jms <- columns / (k - 1)
  ems <- (sum((m - grand)^2) - rows - columns) / ((n - 1) * (k - 1))
  (bms - ems) / (bms + (k - 1) * ems + k * (jms - ems) / n)
}

if (a[1] == "bca") {
  library(boot)
  m <- as.matrix(xtabs(score ~ case + rater, d)); class(m) <- "matrix"
  timed(function() {
    set.seed(1)
    b <- boot(m, function(m, i) icc(m[i, , drop = FALSE]), R = 10000)
    c(icc = b$t0, boot.ci(b, type = "bca")$bca[4:5])
  }, function(made) setNames(made, c("icc", "lower", "upper")))
} else {
  suppressPackageStartupMessages(library(lme4))
  control <- if (a[1] == "reml-tight") lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.2, rhoend = 1e-10)) else lmerControl()
  timed(function() lmer(score ~ 1 + (1 | case) + (1 | rater), d, control = control), function(made) {
    v <- as.data.frame(VarCorr(made)); v <- setNames(v$vcov, v$grp)
    c(case = v[["case"]], rater = v[["rater"]], residual = v[["Residual"]], deviance = -2 * as.numeric(logLik(made)))
  })
}
