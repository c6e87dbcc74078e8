//! Reference functions of thermocouples on ITS-90: millivolts from °C, reference junction at 0 °C.
//!
//! Source: NIST ITS-90 thermocouple database (NIST Monograph 175), by way of the coefficients in the public package
//! `thermocouples_reference` 0.20. The temperature from a voltage is found by solving these functions, not by the
//! published inverse polynomials: those are off by up to 0.047 °C; a test holds the two against each other.

/// Type K, from -270 to 0 °C, lowest power first.
pub(crate) const K_BELOW_ZERO: [f64; 11] = [
    0.0,
    0.039450128025,
    2.3622373598e-05,
    -3.2858906784e-07,
    -4.9904828777e-09,
    -6.7509059173e-11,
    -5.7410327428e-13,
    -3.1088872894e-15,
    -1.0451609365e-17,
    -1.9889266878e-20,
    -1.6322697486e-23,
];
/// Type K, from 0 to 1372 °C, lowest power first.
pub(crate) const K_ABOVE_ZERO: [f64; 10] = [
    -0.017600413686,
    0.038921204975,
    1.8558770032e-05,
    -9.9457592874e-08,
    3.1840945719e-10,
    -5.6072844889e-13,
    5.6075059059e-16,
    -3.2020720003e-19,
    9.7151147152e-23,
    -1.2104721275e-26,
];
/// Type T, from -270 to 0 °C, lowest power first.
pub(crate) const T_BELOW_ZERO: [f64; 15] = [
    0.0,
    0.038748106364,
    4.4194434347e-05,
    1.1844323105e-07,
    2.0032973554e-08,
    9.0138019559e-10,
    2.2651156593e-11,
    3.6071154205e-13,
    3.8493939883e-15,
    2.8213521925e-17,
    1.4251594779e-19,
    4.8768662286e-22,
    1.079553927e-24,
    1.3945027062e-27,
    7.9795153927e-31,
];
/// Type T, from 0 to 400 °C, lowest power first.
pub(crate) const T_ABOVE_ZERO: [f64; 9] = [
    0.0,
    0.038748106364,
    3.329222788e-05,
    2.0618243404e-07,
    -2.1882256846e-09,
    1.0996880928e-11,
    -3.0815758772e-14,
    4.547913529e-17,
    -2.7512901673e-20,
];
/// Type K above 0 °C: the term a0 exp(a1 (t - a2)²) that is added.
pub(crate) const K_BUMP: [f64; 3] = [0.1185976, -0.0001183432, 126.9686];
