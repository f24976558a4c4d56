# Draws tables of partial-credit scores and fits them by VGAM, as severity_partial_credit.R does:
#   Rscript scripts/reference/differential/severity.R FOLDER TABLES SEED
# leaves FOLDER/severity_N.csv (scores) and FOLDER/severity_N_answers.csv (estimates, errors, fit).
arguments <- commandArgs(trailingOnly = TRUE)
source(file.path(dirname(sub("--file=", "", grep("^--file=", commandArgs(), value = TRUE))), "..",
                 "severity_partial_credit.R"))

# Whoever stands at one end throughout, or a level that an item never has, has no finite estimate: not drawn.
finite <- function(d) {
  within <- function(f) all(tapply(d$score, d[[f]], function(s) any(s > min(d$score)) && any(s < max(d$score))))
  all(table(d$item, d$score) > 0) && within("rater") && within("case")
}

folder <- arguments[1]; tables <- as.integer(arguments[2]); seed <- as.integer(arguments[3])
for (n in seq_len(tables)) {
  set.seed(seed * 1000 + n)
  sizes <- list(cases = sample(8:14, 1), raters = sample(3:7, 1), items = sample(2:4, 1), steps = sample(2:4, 1),
                missing = sample(c(0, 0.1, 0.3), 1))
  tried <- 0
  repeat {
    d <- do.call(draw, c(list(seed = seed * 100000 + n * 100 + tried), sizes))
    if (finite(d)) break
    tried <- tried + 1
    stopifnot(tried < 100)
  }
  write.csv(d, file.path(folder, sprintf("severity_%d.csv", n)), row.names = FALSE, quote = FALSE)
  write.csv(rows("drawn", d), file.path(folder, sprintf("severity_%d_answers.csv", n)), row.names = FALSE)
}
