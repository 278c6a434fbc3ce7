# Rscript make.R > table.toml      (R 4.2.2, nlme 3.1.162)
# Invented wounds, log area against weeks: each with its own start and rate; a linear mixed model by REML.
suppressMessages(library(nlme))
sets <- list(many = c(24, 5, 11), few = c(6, 4, 12), uneven = c(12, 6, 13))
num <- function(x) paste0("[", paste(formatC(x, digits = 4, format = "f"), collapse = ", "), "]")
cat('kind = "independent tool"\n')
cat('source = "R 4.2.2, nlme::lme 3.1.162, method REML"\n')
cat('locator = "make.R beside this table; y ~ week, random = ~ week | wound"\n')
cat('tolerance = "five digits of what lme and its optimizer agree on from run to run; four of the correlation"\n')
for (name in names(sets)) {
  p <- sets[[name]]
  set.seed(p[3])
  d <- do.call(rbind, lapply(seq_len(p[1]), function(i) {
    m <- if (name == "uneven") p[2] + (i %% 3) - 1 else p[2]
    w <- round(c(0, cumsum(runif(m - 1, 0.9, 2.1))), 4)
    y <- 2.6 + rnorm(1, 0, 0.5) - (0.12 + rnorm(1, 0, 0.06)) * w + rnorm(m, 0, 0.08)
    data.frame(wound = i, week = w, y = round(y, 4))
  }))
  f <- lme(y ~ week, random = ~ week | wound, data = d, method = "REML",
           control = lmeControl(opt = "optim", msTol = 1e-12, reltol = 1e-14, tolerance = 1e-12, maxIter = 500, msMaxIter = 500))
  v <- VarCorr(f)
  want <- c(Start = unname(fixef(f)[1]), Slope = unname(fixef(f)[2]), SlopeSE = unname(sqrt(vcov(f)[2, 2])),
            StartSD = as.numeric(v[1, 2]), SlopeSD = as.numeric(v[2, 2]), Corr = as.numeric(v[2, 3]), Residual = f$sigma, LogLik = as.numeric(logLik(f)))
  st <- as.matrix(getVarCov(f)); sd <- sqrt(diag(st))
  want["StartSD"] <- sd[1]; want["SlopeSD"] <- sd[2]; want["Corr"] <- st[1, 2] / (sd[1] * sd[2])
  for (what in names(want)) {
    tol <- if (what == "Corr") 1e-4 else abs(want[what]) * 1e-5
    cat(sprintf('\n[[row]]\nname = "%s, %d wounds: %s"\nfigure = "healing.MixedLine"\nin = { what = "%s", wound = [%s], week = %s, y = %s }\nwant = %.10g\ntol = %.3g\n',
                name, p[1], what, what, paste(paste0(d$wound, ".0"), collapse = ", "), num(d$week), num(d$y), want[what], tol))
  }
}
