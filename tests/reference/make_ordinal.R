# SPDX-License-Identifier: GPL-3.0-or-later
# Proportional-odds regressions by R's MASS.
# Rscript make_ordinal.R [FILE], by default values/ordinal.txt.
# Debian: r-base-core, r-cran-mass.
suppressPackageStartupMessages(library(MASS))
lines <- c(
  "# origin: made here, numbers of a fixed generator; the data set housing of MASS",
  paste0("# tool: ", R.version.string, ", MASS ", packageVersion("MASS")),
  "# script: tests/reference/make_ordinal.R")
put <- function(name, values) {
  lines <<- c(lines, sprintf("array %s %d", name, length(values)), sprintf("%.17g", values))
}

# The generator of reference_values.py.
noise <- function(n, seed) {
  values <- numeric(n)
  state <- seed
  for (i in seq_len(n)) {
    high <- floor(state / 65536)
    low <- state %% 65536
    state <- ((high * 1103515245) %% 32768 * 65536 + low * 1103515245 + 12345) %% 2147483648
    values[i] <- state / 1073741824 - 1
  }
  values
}

# Slopes, their errors, cuts, log-likelihood.
tell <- function(fit) {
  n <- length(coef(fit))
  c(coef(fit), sqrt(diag(vcov(fit)))[seq_len(n)], fit$zeta, logLik(fit))
}
strict <- list(reltol = 1e-16, maxit = 5000)

# Holds and tremors far from 0, scores in five levels.
n <- 120
hold <- 3 + 0.4 * noise(n, 61)
tremor <- 0.8 + 0.1 * noise(n, 62)
latent <- 2.5 * (hold - 3) - 6 * (tremor - 0.8) + qlogis(0.5 + 0.49 * noise(n, 63))
level <- findInterval(latent, c(-1.6, -0.4, 0.5, 1.8))
put("shots_x", as.vector(rbind(hold, tremor)))
put("shots_level", level)
put("shots", tell(polr(factor(level) ~ hold + tremor, Hess = TRUE, control = strict,
                       start = c(2, -5, -1, 0, 1, 2))))

# Two levels: plain logistic regression, by another function.
two <- as.integer(latent > 0)
fit <- glm(two ~ hold, family = binomial, control = list(epsilon = 1e-15, maxit = 100))
put("two_level", two)
put("two", c(coef(fit)[2], sqrt(vcov(fit)[2, 2]), -coef(fit)[1], logLik(fit)))

# Venables & Ripley 2002, Modern Applied Statistics with S, 7.3.
cells <- model.matrix(~ Infl + Type + Cont, housing)[, -1]
put("housing_x", as.vector(t(cells)))
put("housing_level", as.integer(housing$Sat) - 1)
put("housing_count", housing$Freq)
cases <- housing[rep(seq_len(nrow(housing)), housing$Freq), ]
fit <- polr(Sat ~ Infl + Type + Cont, data = cases, Hess = TRUE)
put("housing", tell(polr(Sat ~ Infl + Type + Cont, data = cases, Hess = TRUE, control = strict,
                         start = c(coef(fit), fit$zeta))))

args <- commandArgs(trailingOnly = TRUE)
here <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE)[1]))
path <- if (length(args) > 0) args[1] else file.path(here, "values", "ordinal.txt")
writeLines(lines, path)
