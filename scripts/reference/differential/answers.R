# What psych, lme4, vcd and base R make of the tables that scripts/differential drew.
#   Rscript answers.R FOLDER      reads FOLDER/tables.csv and designs.csv, writes FOLDER/answers_r.csv
# Columns as in answers.py. Mean squares come from aov(), tests and limits of base R from its own functions.
suppressMessages({library(psych); library(lme4); library(vcd)})
options(warn = -1)
folder <- commandArgs(TRUE)[1]
own <- function(p) paste(p, as.character(packageVersion(p)))
R <- paste("R", getRversion()); PSYCH <- own("psych"); LME4 <- own("lme4"); VCD <- own("vcd")
scores <- read.csv(file.path(folder, "tables.csv"), colClasses = "character", na.strings = character(0), encoding = "UTF-8")
designs <- read.csv(file.path(folder, "designs.csv"), colClasses = "character", na.strings = character(0), encoding = "UTF-8")
scores <- split(scores, factor(scores$table, designs$table))
out <- file(file.path(folder, "answers_r.csv"), "w", encoding = "UTF-8")
writeLines("table,raters,statistic,value,tolerance,library", out)
TABLE <- ""; PAIR <- ""
# Stores the named values that an expression gives; an error of a library is an answer too.
put <- function(library, names, expression, tolerance = "closed") {
  v <- tryCatch(as.numeric(expression), error = function(e) rep("error", length(names)))
  if (length(v) != length(names)) v <- rep(NaN, length(names))
  text <- if (is.character(v)) v else ifelse(is.finite(v), formatC(v, digits = 17, format = "g"), "undefined")
  quoted <- ifelse(grepl(",", names, fixed = TRUE), paste0('"', names, '"'), names)
  writeLines(paste(TABLE, PAIR, quoted, text, tolerance, library, sep = ","), out)
}
dot <- function(a, b) paste(a, b, sep = ".")
div <- function(a, b) if (b == 0) NaN else a / b

reml <- function(y, case, rater) {
  control <- lmerControl(optimizer = "bobyqa", calc.derivs = FALSE, optCtrl = list(rhoend = 1e-9, maxfun = 20000),
    check.conv.singular = "ignore", check.nobs.vs.nlev = "ignore", check.nobs.vs.nRE = "ignore", check.nlev.gtr.1 = "ignore")
  # REML does not change with the mean; lme4 loses digits on a large common offset.
  v <- as.data.frame(VarCorr(lmer(y ~ 1 + (1 | case) + (1 | rater), data.frame(y = y - mean(y), case, rater), control = control)))
  v$vcov[match(c("case", "rater", "Residual"), v$grp)]
}

group <- function(M) {
  full <- M[rowSums(is.na(M)) == 0, , drop = FALSE]
  n <- nrow(full); k <- ncol(full)
  if (n >= 2 && k >= 2) {
    forms <- c("ICC(1,1)", "ICC(2,1)", "ICC(3,1)", "ICC(1,k)", "ICC(2,k)", "ICC(3,k)")
    r <- tryCatch(suppressMessages(ICC(as.data.frame(full), lmer = FALSE))$results, error = function(e) NULL)
    for (i in 1:6)
      put(PSYCH, dot(dot("icc", forms[i]), c("estimate", "f", "df1", "df2", "p", "lower", "upper")),
          if (is.null(r)) stop() else unlist(r[i, 2:8]))
    y <- as.vector(full) - mean(full); case <- factor(rep(seq_len(n), k)); rater <- factor(rep(seq_len(k), each = n))
    ms <- tryCatch(summary(aov(y ~ case + rater))[[1]][["Mean Sq"]], error = function(e) rep(NaN, 3))
    # A table without rest (all zero but rounding) leaves sums of squares of 1e-32: these are 0.
    ms[ms < 1e-20 * max(1, sum(y^2))] <- 0
    B <- ms[1]; J <- ms[2]; E <- ms[3]; df <- (n - 1) * (k - 1)
    put(R, dot("components.anova", c("case", "rater", "residual")), c((B - E) / k, (J - E) / n, E))
    # In a balanced table REML and the analysis of variance are the same where no component is below 0.
    anova <- c((B - E) / k, (J - E) / n, E)
    if (nrow(full) == nrow(M) && min(anova) >= 0 && B + J + E > 0)
      put(R, dot("components.reml", c("case", "rater", "residual")), anova, paste0("iterative:", format(sum(anova), digits = 6)))
    sem <- sqrt(c(max(0, (J - E) / n) + E, E))
    put(R, dot("sem", c("agreement", "consistency")), sem)
    put(R, dot("mdc95", c("agreement", "consistency")), qnorm(.975) * sqrt(2) * sem)
    limits <- function(s, df) s * sqrt(df / qchisq(c(.975, .025), df))
    put(R, dot("sem.consistency_ci", 0:1), if (E == 0) c(NaN, NaN) else limits(sem[2], df))
    # Graybill & Wang 1980: limits of the sum J/n + (n-1)/n E.
    parts <- c(J / n, (n - 1) / n * E); d <- c(k - 1, df)
    mixed <- sqrt(pmax(0, c(sum(parts) - sqrt(sum(((1 - d / qchisq(.975, d)) * parts)^2)),
                            sum(parts) + sqrt(sum(((d / qchisq(.025, d) - 1) * parts)^2)))))
    put(R, dot("sem.agreement_ci", 0:1), if (sem[1] == 0) c(NaN, NaN) else mixed)
    f <- tryCatch(friedman.test(t(full)), error = function(e) NULL)
    put(R, dot("kendall_w", c("estimate", "chi2", "df", "p")),
        if (is.null(f) || is.nan(f$statistic)) rep(NaN, 4) else c(f$statistic / (k * (n - 1)), f$statistic, f$parameter, f$p.value))
  }
  at <- which(!is.na(M), arr.ind = TRUE)
  y <- M[at]; used <- length(unique(at[, 1])) > 1 && length(unique(at[, 2])) > 1
  if (used) {
    v <- tryCatch(reml(y, factor(at[, 1]), factor(at[, 2])), error = function(e) NULL)
    size <- paste0("iterative:", format(if (is.null(v)) 1 else sum(v), digits = 6))
    put(LME4, dot("components.reml", c("case", "rater", "residual")), if (is.null(v)) stop() else v, size)
    put(LME4, c("icc_reml.estimate", "icc_reml.consistency"),
        if (is.null(v)) stop() else c(div(v[1], sum(v)), div(v[1], v[1] + v[3])), "iterative:1")
    k <- length(unique(at[, 2]))
    put(LME4, dot("icc_reml.mean_of_raters", c("agreement.estimate", "consistency.estimate")),
        if (is.null(v)) stop() else c(div(v[1], v[1] + (v[2] + v[3]) / k), div(v[1], v[1] + v[3] / k)), "iterative:1")
    put(LME4, dot("icc_reml.sem", c("agreement.estimate", "consistency.estimate")),
        if (is.null(v)) stop() else sqrt(c(v[2] + v[3], v[3])), paste0("iterative:", format(if (is.null(v)) 1 else sqrt(sum(v)), digits = 6)))
  }
}

kappas <- function(i, j, q, ordered) {
  cross <- table(factor(i, 1:q), factor(j, 1:q))
  for (kind in if (ordered) c("none", "linear", "quadratic") else "none") {
    k <- tryCatch(Kappa(cross, weights = if (kind == "quadratic") "Fleiss-Cohen" else "Equal-Spacing"), error = function(e) NULL)
    v <- if (kind == "none") k$Unweighted else k$Weighted
    put(VCD, dot(dot("kappa", kind), c("estimate", "se", "lower", "upper")),
        if (is.null(k)) stop() else c(v[["value"]], v[["ASE"]], v[["value"]] + qnorm(c(.025, .975)) * v[["ASE"]]))
  }
  test <- mcnemar.test(cross, correct = FALSE)
  put(R, dot("marginal_homogeneity.bowker", c("chi2", "df_all", "p_all")),
      if (is.nan(test$statistic)) rep(NaN, 3) else c(test$statistic, test$parameter, test$p.value))
  if (q == 2 && cross[1, 2] + cross[2, 1] > 0) {
    corrected <- mcnemar.test(cross, correct = TRUE)
    put(R, dot("marginal_homogeneity.mcnemar", c("chi2", "p", "chi2_corrected", "p_corrected", "exact_p")),
        c(test$statistic, test$p.value, corrected$statistic, corrected$p.value,
          binom.test(cross[1, 2], cross[1, 2] + cross[2, 1])$p.value))
  }
}

differences <- function(x, y) {
  d <- x - y; n <- length(d)
  put(R, "bias.estimate", mean(d))
  put(R, dot("bias", c("lower", "upper", "p")), { t <- t.test(x, y, paired = TRUE); c(t$conf.int, t$p.value) })
  nonzero <- round(d, 9); nonzero <- nonzero[nonzero != 0]
  put(R, "bias.wilcoxon_p", if (length(nonzero) == 0) NaN else wilcox.test(nonzero)$p.value)
  put(R, "limits_of_agreement.sd", sd(d))
}

for (t in seq_len(nrow(designs))) {
  design <- designs[t, ]; TABLE <- design$table; PAIR <- ""
  d <- scores[[TABLE]]
  categories <- strsplit(design$categories, "|", fixed = TRUE)[[1]]; q <- length(categories)
  numeric <- !any(is.na(suppressWarnings(as.numeric(categories))))
  ordered <- design$level != "nominal"
  raters <- unique(d$rater); cases <- sort(unique(d$case))
  P <- matrix(NA_integer_, length(cases), length(raters), dimnames = list(cases, raters))
  P[cbind(match(d$case, cases), match(d$rater, raters))] <- match(d$score, categories)
  V <- P; if (numeric) V[] <- as.numeric(categories)[P]
  g <- setdiff(raters, design$key)
  if (ordered && numeric && length(g) >= 1) group(V[, g, drop = FALSE])
  for (p in if (design$pairs == "") character(0) else strsplit(design$pairs, "|", fixed = TRUE)[[1]]) {
    r <- strsplit(p, "+", fixed = TRUE)[[1]]; PAIR <- paste(r, collapse = " | ")
    both <- !is.na(P[, r[1]]) & !is.na(P[, r[2]]); n <- sum(both)
    i <- P[both, r[1]]; j <- P[both, r[2]]
    if (n == 0) next
    put(R, dot("exact", c("lower", "upper")), prop.test(sum(i == j), n, correct = FALSE)$conf.int)
    put(R, dot("exact", c("exact_lower", "exact_upper")), binom.test(sum(i == j), n)$conf.int)
    if (q >= 2 && q <= 250) kappas(i, j, q, ordered)
    if (ordered && numeric) differences(V[both, r[1]], V[both, r[2]])
  }
}
close(out)
