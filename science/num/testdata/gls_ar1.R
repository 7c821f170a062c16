# Rscript gls_ar1.R > gls_ar1.csv   (R 4.2.2)
x <- c(0, 1, 2, 4, 7, 11); y <- c(0.1, 1.3, 1.7, 4.4, 6.9, 11.5)
X <- cbind(1, x); V <- 0.3 * 0.6^abs(outer(1:6, 1:6, "-"))
C <- solve(t(X) %*% solve(V, X)); b <- C %*% t(X) %*% solve(V, y); r <- y - X %*% b
cat("value", sprintf("%.17g", c(b, C[1,1], C[1,2], C[2,2], t(r) %*% solve(V, r))), sep = "\n")
