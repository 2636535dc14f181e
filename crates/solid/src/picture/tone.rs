//! From screen colours to light and back.

use glam::Vec3;

/// Linear light of an sRGB colour (IEC 61966-2-1).
pub fn linear(colour: [u8; 3]) -> Vec3 {
    Vec3::from_array(colour.map(|c| {
        let c = f32::from(c) / 255.0;
        if c <= 0.040_45 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    }))
}

/// The sRGB colour of linear light in 0..1 (IEC 61966-2-1).
pub fn screen(light: Vec3) -> [u8; 3] {
    light.to_array().map(|c| {
        let c = c.clamp(0.0, 1.0);
        let c = if c <= 0.003_130_8 {
            12.92 * c
        } else {
            1.055 * c.powf(1.0 / 2.4) - 0.055
        };
        (c * 255.0 + 0.5) as u8
    })
}

/// Light above this is drawn in, so that nothing burns out.
const SHOULDER: f32 = 0.8;

/// Draws bright light into 0..1 and keeps its hue; what lies under the shoulder stays true.
pub fn within_range(light: Vec3) -> Vec3 {
    let top = light.max_element();
    if top <= SHOULDER {
        return light;
    }
    let room = 1.0 - SHOULDER;
    let over = (top - SHOULDER) / room;
    light * ((SHOULDER + room * over / (1.0 + over)) / top)
}
