# Rscript make.R > table.toml      (R 4.2.2, package stats)
# Least-squares exponential through invented series: A ~ a * exp(-k * t), t in weeks.
series <- list(
  steady = list(t = c(0, 7, 14, 21, 28), a = c(20.7, 18.9, 17.5, 15.6, 13.9)),
  uneven = list(t = c(0, 9, 15, 29, 41, 50), a = c(8.4, 7.1, 6.9, 4.2, 3.3, 2.1)),
  growing = list(t = c(0, 7, 16, 21, 35), a = c(5.0, 5.4, 5.3, 6.1, 6.6)),
  fast = list(t = c(0, 4, 8, 12, 17, 21, 25), a = c(31.0, 24.2, 17.9, 14.8, 9.7, 8.1, 5.6))
)
num <- function(x) paste0("[", paste(formatC(x, digits = 6, format = "f"), collapse = ", "), "]")
cat('kind = "independent tool"\n')
cat('source = "R 4.2.2, stats::nls"\n')
cat('locator = "make.R beside this table; A ~ a * exp(-k t), default algorithm"\n')
cat('tolerance = "six digits: nls stops here when a further step is a millionth of a standard error"\n')
for (name in names(series)) {
  s <- series[[name]]
  w <- s$t / 7
  fit <- nls(a ~ b * exp(-k * w), data = list(a = s$a, w = w), start = list(b = s$a[1], k = 0.1),
             control = nls.control(tol = 1e-6, maxiter = 200))
  v <- summary(fit)$coefficients["k", ]
  for (what in c("DecayFit", "DecayFitSE")) {
    want <- if (what == "DecayFit") v["Estimate"] else v["Std. Error"]
    cat(sprintf('\n[[row]]\nname = "%s: %s"\nfigure = "healing.%s"\nin = { days = %s, area = %s }\nwant = %.12g\ntol = %.3g\n',
                name, if (what == "DecayFit") "decay constant per week" else "its standard error", what, num(s$t), num(s$a), want, abs(want) * 1e-6))
  }
}
