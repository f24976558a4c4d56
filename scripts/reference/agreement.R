# What one would write in R for the same question: for each item and the total the six ICC forms with F and limits,
# SEM; for each rater beside the key exact and within-one agreement with limits, kappa unweighted, linear and
# quadratic with standard error and limits, bias with t limits and signed-rank test, limits of agreement; for each
# item the disagreement with the key. psych 2.2.9 (ICC), vcd 1.4.11 (Kappa), base R.
#   Rscript agreement.R SCORES OUT
suppressMessages({library(psych); library(vcd)})
a <- commandArgs(trailingOnly = TRUE)
d <- read.csv(a[1], colClasses = c("character", "character", "character", "numeric"))
raters <- setdiff(unique(d$rater), "key")
cases <- unique(d$case)
matrix_of <- function(x) {
  m <- matrix(NA_real_, length(cases), length(raters) + 1, dimnames = list(cases, c(raters, "key")))
  m[cbind(match(x$case, cases), match(x$rater, colnames(m)))] <- x$score
  m
}
items <- unique(d$item)
measures <- lapply(items, function(i) matrix_of(d[d$item == i, ]))
names(measures) <- items
measures$total <- Reduce(`+`, measures)
limits <- function(x, n) c(prop.test(x, n, correct = FALSE)$conf.int, binom.test(x, n)$conf.int)
out <- list()
for (name in names(measures)) {
  m <- measures[[name]]
  k <- m[, "key"]
  g <- m[, raters]
  icc <- suppressWarnings(ICC(g, lmer = FALSE))
  row <- as.numeric(unlist(icc$results[, c("ICC", "F", "df1", "df2", "p", "lower bound", "upper bound")]))
  levels <- if (name == "total") 0:56 else 0:4
  pairs <- vapply(raters, function(r) {
    x <- m[, r]; diff <- x - k; n <- length(x)
    t <- table(factor(x, levels), factor(k, levels))
    kappas <- if (name == "total") rep(NA, 6) else suppressWarnings({
      lin <- Kappa(t, weights = "Equal-Spacing"); quad <- Kappa(t, weights = "Fleiss-Cohen")
      c(lin$Unweighted, lin$Weighted, quad$Weighted)
    })
    tt <- if (sd(diff) > 0) unlist(t.test(diff)[c("conf.int", "p.value")]) else rep(NA, 3)
    w <- suppressWarnings(wilcox.test(x, k, paired = TRUE, exact = FALSE)$p.value)
    s <- sd(diff)
    loa <- mean(diff) + c(-1.96, 1.96) * s
    se <- s * sqrt(1 / n + 1.96^2 / (2 * (n - 1))) * qt(.975, n - 1)
    c(mean(diff == 0), limits(sum(diff == 0), n), mean(abs(diff) <= 1), limits(sum(abs(diff) <= 1), n), kappas,
      mean(diff), tt, w, mean(abs(diff)), sqrt(mean(diff^2)), loa, loa - se, loa + se)
  }, numeric(29))
  diffs <- g - k
  out[[name]] <- c(row, pairs, mean(diffs == 0), mean(abs(diffs) <= 1), mean(diffs), mean(abs(diffs)),
                   table(factor(diffs, -4:4)))
}
write.csv(data.frame(measure = rep(names(out), lengths(out)), value = unlist(out)), a[2], row.names = FALSE)
