# How long VGAM takes for partial-credit severity.
#   Rscript scripts/reference/severity_time.R RATERS CASES ITEMS SCORES.csv
# draws scores of 0..4 with a fixed seed, writes them, fits them, and prints the seconds of the fit (and, apart, of
# the standard errors) as JSON. The same file through this program: SEVERITY_SCORES=SCORES.csv severity_test
# "[time]", or scripts/bench severity.
suppressPackageStartupMessages(library(VGAM))
a <- commandArgs(TRUE); raters <- as.integer(a[1]); cases <- as.integer(a[2]); items <- as.integer(a[3])
set.seed(300)
case <- rnorm(cases); rater <- rnorm(raters, 0, 0.5)
threshold <- matrix(rnorm(items * 4, rep(c(-1.2, -.4, .4, 1.2), each = items), 0.4), items)
d <- expand.grid(item = seq_len(items), case = seq_len(cases), rater = seq_len(raters))
u <- case[d$case] - rater[d$rater]
log_weight <- t(apply(cbind(0, u - threshold[d$item, ]), 1, cumsum))
p <- exp(log_weight); p <- p / rowSums(p); above <- t(apply(p, 1, cumsum))
d$score <- rowSums(runif(nrow(d)) > above)
write.csv(data.frame(rater = paste0("r", d$rater), case = paste0("c", d$case), item = paste0("i", d$item), score = d$score),
          a[4], row.names = FALSE, quote = FALSE)
d$y <- factor(d$score, ordered = TRUE)
for (f in c("rater", "case", "item")) d[[f]] <- factor(d[[f]])
contrasts(d$rater) <- contr.sum(raters); contrasts(d$case) <- contr.sum(cases)
took <- system.time(m <- vglm(y ~ 0 + item + rater + case, acat(parallel = TRUE ~ rater + case - 1), data = d))
errors <- system.time(V <- vcov(m))
cat(sprintf('{"seconds": [%.3f], "processor": [%.3f], "standard_errors": %.3f, "checks": {"scores": %d, "log_likelihood": %.8f}}\n',
            took[["elapsed"]], took[["user.self"]] + took[["sys.self"]], errors[["elapsed"]], nrow(d),
            as.numeric(logLik(m))))
