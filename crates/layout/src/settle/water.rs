//! How heavy the water is.

/// Density of water at atmospheric pressure.
///
/// # Equation
/// ρ(S, t, 0) = ρ_w(t) + A(t) S + B(t) S^1.5 + C S², with ρ_w the density of the
/// standard mean ocean water as a polynomial of fifth degree in t.
///
/// # Arguments
/// `temperature_c`: °C (IPTS-68; the difference to ITS-90 is under 0.01 °C
/// below 40 °C). `salinity_g_kg`: practical salinity, taken as grams a kilogram.
///
/// # Returns
/// kg/m³.
///
/// # Valid for
/// −2 to 40 °C and salinity 0 to 42.
///
/// # Accuracy
/// 3.6e-3 kg/m³ (standard error, as published).
///
/// # Example
/// ```
/// // Check values of UNESCO 44, section 3.
/// let density = |s, t| layout::settle::water::density_kg_m3(t, s);
/// assert!((density(0.0, 5.0) - 999.966_75).abs() < 1e-5);
/// assert!((density(35.0, 25.0) - 1023.343_06).abs() < 1e-5);
/// ```
///
/// # Source
/// F. J. Millero and A. Poisson, International one-atmosphere equation of state
/// of seawater, Deep-Sea Research 28A (1981) 625–629; N. P. Fofonoff and
/// R. C. Millard, Algorithms for computation of fundamental properties of
/// seawater, UNESCO technical papers in marine science 44 (1983).
#[must_use]
pub fn density_kg_m3(temperature_c: f64, salinity_g_kg: f64) -> f64 {
    let (t, s) = (temperature_c, salinity_g_kg);
    let rho_w = polynomial(
        t,
        &[
            999.842_594,
            6.793_952e-2,
            -9.095_290e-3,
            1.001_685e-4,
            -1.120_083e-6,
            6.536_332e-9,
        ],
    );
    let a = polynomial(
        t,
        &[8.244_93e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9],
    );
    let b = polynomial(t, &[-5.724_66e-3, 1.0227e-4, -1.6546e-6]);
    let c = 4.8314e-4;
    rho_w + a * s + b * s * s.sqrt() + c * s * s
}

/// Σ aᵢ xⁱ by Horner's rule.
fn polynomial(x: f64, a: &[f64]) -> f64 {
    a.iter().rev().fold(0.0, |sum, a| sum * x + a)
}
