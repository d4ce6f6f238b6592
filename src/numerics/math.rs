//! Elementary functions with the same bits on every target, from the crate `libm`. The methods of the standard
//! library call the platform's own and differ in the last place, so `clippy.toml` forbids them.

/// e^x.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm; -inf at 0, NaN below.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// ln(1 + x), accurate near 0.
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}

/// Logarithm to base 2.
pub fn log2(x: f64) -> f64 {
    libm::log2(x)
}

/// Logarithm to base 10.
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// x^y.
pub fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// Cube root.
pub fn cbrt(x: f64) -> f64 {
    libm::cbrt(x)
}

/// ln of the gamma function for x > 0.
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

/// Complementary error function.
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}

/// Sine of an angle in radians.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine of an angle in radians.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Angle of the point (x, y) in radians, from -pi to pi; 0 for the origin.
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}
