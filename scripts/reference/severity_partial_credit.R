# Reference values for partial-credit rater severity:
#   log(P[k] / P[k-1]) = case - rater - threshold(item, k), cases and raters sum to zero.
#   Rscript scripts/reference/severity_partial_credit.R      writes, from the repository's root,
#     tests/reference/data/severity_*.csv     invented scores, drawn here with a fixed seed
#     tests/severity/partial_credit.csv       estimates and standard errors by VGAM (joint maximum
#                                             likelihood, thresholds of each item unconstrained), fit mean
#                                             squares by hand from the fitted probabilities
suppressPackageStartupMessages(library(VGAM))

draw <- function(seed, cases, raters, items, steps, missing) {
  set.seed(seed)
  case <- rnorm(cases, 0, 1.2); rater <- rnorm(raters, 0, 0.7)
  threshold <- matrix(rnorm(items * steps, rep(seq(-1.3, 1.3, length.out = steps), each = items), 0.4), items)
  d <- expand.grid(item = seq_len(items), case = seq_len(cases), rater = seq_len(raters))
  d$score <- mapply(function(c, r, i) {
    w <- exp(c(0, cumsum(case[c] - rater[r] - threshold[i, ])))
    sample(0:steps, 1, prob = w)
  }, d$case, d$rater, d$item)
  d <- d[runif(nrow(d)) >= missing, ]
  data.frame(rater = sprintf("rater%02d", d$rater), case = sprintf("case%02d", d$case),
             item = sprintf("item%d", d$item), score = d$score)
}

fit <- function(d) {
  d$y <- factor(d$score, ordered = TRUE)
  for (f in c("rater", "case", "item")) d[[f]] <- factor(d[[f]])
  contrasts(d$rater) <- contr.sum(nlevels(d$rater)); contrasts(d$case) <- contr.sum(nlevels(d$case))
  vglm(y ~ 0 + item + rater + case, acat(parallel = TRUE ~ rater + case - 1), data = d,
       control = vglm.control(epsilon = 1e-12, maxit = 200))
}

rows <- function(name, d) {
  m <- fit(d)
  levels_of <- function(f) sort(unique(d[[f]]))
  co <- coef(m); V <- vcov(m); out <- list()
  source <- sprintf("R %s VGAM %s vglm(y ~ 0 + item + rater + case, acat(parallel = TRUE ~ rater + case - 1)), contr.sum",
                    getRversion(), packageVersion("VGAM"))
  by_hand <- paste0(source, "; mean squares by hand from fitted()")
  add <- function(what, arguments, value, src = source)
    out[[length(out) + 1]] <<- data.frame(dataset = name, statistic = what, arguments = arguments,
      expected = sprintf("%.15g", value), tolerance = "rel:2e-5", origin = "computed", source = src)
  add("severity_loglik", "", as.numeric(logLik(m)))
  for (f in c("rater", "case")) {
    lv <- levels_of(f); n <- length(lv); ix <- match(paste0(f, seq_len(n - 1)), names(co))
    # Raters lower a score: their coefficient is minus the severity.
    sign <- if (f == "rater") -1 else 1
    est <- sign * c(co[ix], -sum(co[ix])); Cv <- V[ix, ix, drop = FALSE]; se <- sqrt(c(diag(Cv), sum(Cv)))
    for (j in seq_len(n)) {
      add(paste0("severity_", f), paste0("level=", lv[j]), est[j])
      add(paste0("severity_", f, "_se"), paste0("level=", lv[j]), se[j])
    }
  }
  steps <- length(unique(d$score)) - 1
  for (i in levels_of("item")) {
    ix <- match(paste0("item", i, ":", seq_len(steps)), names(co)); stopifnot(!anyNA(ix))
    for (k in seq_len(steps)) {
      add("severity_threshold", paste0("item=", i, ";level=", k), -co[ix[k]])
      add("severity_threshold_se", paste0("item=", i, ";level=", k), sqrt(V[ix[k], ix[k]]))
    }
    add("severity_item", paste0("level=", i), -mean(co[ix]))
    add("severity_item_se", paste0("level=", i), sqrt(sum(V[ix, ix]))/steps)
  }
  p <- fitted(m); k <- 0:steps
  expected <- as.vector(p %*% k); variance <- as.vector(p %*% k^2) - expected^2
  residual <- d$score - expected
  for (f in c("rater", "item", "case")) for (lv in levels_of(f)) {
    at <- d[[f]] == lv
    add(paste0("severity_", f, "_infit"), paste0("level=", lv), sum(residual[at]^2) / sum(variance[at]), by_hand)
    add(paste0("severity_", f, "_outfit"), paste0("level=", lv), mean(residual[at]^2 / variance[at]), by_hand)
  }
  do.call(rbind, out)
}

if (sys.nframe() == 0L) {  # run, not sourced
  sets <- list(severity_crossed = draw(20261, 12, 6, 4, 3, 0),
               severity_gaps = draw(20262, 15, 8, 5, 4, 0.35))
  all <- NULL
  for (name in names(sets)) {
    d <- sets[[name]]
    write.csv(d, file.path("tests/reference/data", paste0(name, ".csv")), row.names = FALSE, quote = FALSE)
    stopifnot(all(table(d$item, d$score) > 0))
    all <- rbind(all, rows(name, d))
  }
  write.csv(all, "tests/severity/partial_credit.csv", row.names = FALSE, quote = which(names(all) == "source"))
}
