# Rscript make.R > want.json     R 4.2.2, strucchange 1.5-3 (Debian r-cran-strucchange)
suppressMessages(library(strucchange))
data("RealInt")
one <- function(name, y, h) {
  b <- breakpoints(y ~ 1, h = h)
  s <- summary(b)
  cat(sprintf('  {"name":"%s","least":%d,\n   "breaks":[%s],"rss":[%s],"bic":[%s],\n   "y":[%s]}', name, h,
    paste(b$breakpoints, collapse=","), paste(sprintf("%.10g", s$RSS["RSS",]), collapse=","), paste(sprintf("%.10g", s$RSS["BIC",]), collapse=","),
    paste(sprintf("%.8g", as.numeric(y)), collapse=",")))
}
cat("[\n"); one("Nile", Nile, 15); cat(",\n"); one("RealInt", RealInt, 15); cat("\n]\n")
