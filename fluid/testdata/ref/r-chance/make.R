# Rscript make.R > table.toml      (R 4.2.2)
# The chance of an amount of fluid or more, from mixtures of log-normals by R's own distribution function: what a forecast
# says of a canister that fills.
cat('figure = "fluid.Mixture.Below"
kind = "independent tool"
source = "R 4.2.2, plnorm"
locator = "make.R beside this table"
tolerance = "both compute the normal distribution function to full precision; 1e-12 is left for the order of sums"
')
cases <- list(
  list(w = c(1), m = c(4.8), s = c(0.3)),
  list(w = c(0.7, 0.3), m = c(4.8, 5.4), s = c(0.25, 0.8)),
  list(w = c(0.94, 0.06), m = c(5.2, 5.2), s = c(0.2, 0.734846922834953)))
for (k in cases) for (ml in c(90, 180, 270, 360)) {
  p <- sum(k$w * plnorm(ml, k$m, k$s))
  list <- function(x) paste0("[", paste(sprintf("%.15g", x), collapse = ", "), "]")
  cat(sprintf('\n[[row]]\nname = "less than %d mL: weights %s, log means %s, log sds %s"\nin = { mL = %.1f, weight = %s, mean = %s, sd = %s }\nwant = %.15g\ntol = 1e-12\n',
    ml, list(k$w), list(k$m), list(k$s), ml, gsub("\\b1\\b", "1.0", list(k$w)), list(k$m), list(k$s), p))
}
