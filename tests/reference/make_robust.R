# SPDX-License-Identifier: GPL-3.0-or-later
# Shifts, robust fits, broken sticks and intraclass correlations by R.
# Rscript make_robust.R [FILE], by default values/robust.txt.
# Debian: r-base-core, r-cran-mass, r-cran-psych, r-cran-segmented.
suppressPackageStartupMessages({
  library(MASS)
  library(psych)
  library(segmented)
})
lines <- c(
  "# origin: made here; numbers of a fixed generator, R's own data sets phones and stackloss",
  paste0("# tool: ", R.version.string, ", MASS ", packageVersion("MASS"), ", psych ",
         packageVersion("psych"), ", segmented ", packageVersion("segmented")),
  "# script: tests/reference/make_robust.R")
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

# Hodges & Lehmann: exact laws, no ties.
x <- noise(17, 5)
y <- noise(13, 6) + 0.4
put("shift_x", x)
put("shift_y", y)
both <- wilcox.test(y, x, conf.int = TRUE, exact = TRUE, conf.level = 0.95)
put("shift", c(both$estimate, both$conf.int))
one <- wilcox.test(y, conf.int = TRUE, exact = TRUE, conf.level = 0.95)
put("centre", c(one$estimate, one$conf.int))
sleep_1 <- sleep$extra[sleep$group == 1] # ties: the median stands, limits differ by method
sleep_2 <- sleep$extra[sleep$group == 2]
put("sleep_1", sleep_1)
put("sleep_2", sleep_2)
put("sleep_shift", median(outer(sleep_2, sleep_1, "-")))

# Holm.
chances <- c(0.001, 0.04, 0.2, 0.03, 0.03, 0.011, 0.7)
put("chances", chances)
put("holm", p.adjust(chances, "holm"))

# Huber.
put("phones_x", phones$year)
put("phones_y", phones$calls)
fit <- rlm(calls ~ year, data = phones, maxit = 200, acc = 1e-12)
put("phones", c(coef(fit)[2], summary(fit)$coefficients[2, 2], coef(fit)[1],
                summary(fit)$coefficients[1, 2], fit$s))
loss <- stackloss$stack.loss
put("loss", loss)
fit <- rlm(loss ~ 1, maxit = 200, acc = 1e-12)
put("loss_location", c(coef(fit), summary(fit)$coefficients[1, 2], fit$s))

# Broken stick.
t <- (1:60) / 10
f <- 2 + 1.5 * t - 1.2 * pmax(t - 3.27, 0) + 0.15 * noise(60, 8)
put("stick_x", t)
put("stick_y", f)
line <- lm(f ~ t)
bent <- segmented(line, seg.Z = ~t, psi = 3,
                  control = seg.control(tol = 1e-14, it.max = 500, n.boot = 0))
s <- slope(bent)$t
put("stick", c(bent$psi[2], s[1, 1], s[2, 1], sum(residuals(bent)^2)))

# Intraclass correlations: six targets, four judges (Shrout & Fleiss 1979, table 2).
judged <- matrix(c(9, 2, 5, 8, 6, 1, 3, 2, 8, 4, 6, 8, 7, 1, 2, 6, 10, 5, 6, 9, 6, 2, 4, 7),
                 ncol = 4, byrow = TRUE)
put("judged", t(judged))
all <- ICC(judged, lmer = FALSE)$results
put("judged_icc", all$ICC)
put("judged_lo", all$`lower bound`)
put("judged_hi", all$`upper bound`)
args <- commandArgs(trailingOnly = TRUE)
here <- dirname(sub("--file=", "", grep("--file=", commandArgs(), value = TRUE)))
writeLines(lines, if (length(args) > 0) args[1] else file.path(here, "values", "robust.txt"))
