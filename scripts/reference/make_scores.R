# Makes a file of scores for the benchmark: RATERS raters and the key on CASES cases of ITEMS items, five levels.
#   Rscript make_scores.R OUT RATERS CASES ITEMS
a <- commandArgs(trailingOnly = TRUE)
raters <- as.integer(a[2]); cases <- as.integer(a[3]); items <- as.integer(a[4])
set.seed(20261125)
grid <- expand.grid(item = seq_len(items), case = seq_len(cases))
truth <- pmin(4, pmax(0, round(rnorm(nrow(grid), 2.3, 1.3))))
key <- data.frame(rater = "key", case = paste0("c", grid$case), item = grid$item, score = truth)
one <- function(r) {
  slip <- rnorm(nrow(grid), rnorm(1, 0, 0.2), 0.55)
  data.frame(rater = sprintf("r%03d", r), case = paste0("c", grid$case), item = grid$item,
             score = pmin(4, pmax(0, round(truth + slip))))
}
write.csv(do.call(rbind, c(list(key), lapply(seq_len(raters), one))), a[1], row.names = FALSE, quote = FALSE)
