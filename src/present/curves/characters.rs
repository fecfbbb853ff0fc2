//! The curves in characters.

use super::Curves;
use crate::bench::{Kind, write};
use crate::present::text::Styled;

/// Columns of the field that the curves stand in.
const WIDTH: usize = 58;
/// Its rows.
const HEIGHT: usize = 8;

/// The curves as lines of characters, 12 at most and 70 columns wide: `*` efficiency from 0 to 100 %, `+`
/// output and `.` speed each up to its own greatest, and `O` where it works, over torque.
pub fn characters(curves: &Curves) -> Vec<Styled> {
    let mut field = vec![vec![' '; WIDTH]; HEIGHT];
    let (free, stalled) = (curves.free(), curves.stalled());
    let mut put = |torque: f64, share: f64, sign: char| {
        let across = (torque / stalled.torque * (WIDTH - 1) as f64).round();
        let up = (share * (HEIGHT - 1) as f64).round();
        let inside = (0.0..WIDTH as f64).contains(&across) && (0.0..HEIGHT as f64).contains(&up);
        if inside {
            field[HEIGHT - 1 - up as usize][across as usize] = sign;
        }
    };
    // What is drawn last stands on top.
    for at in &curves.points {
        put(at.torque, at.rpm / free.rpm, '.');
    }
    for at in &curves.points {
        put(at.torque, at.output / curves.peak.output, '+');
    }
    for at in &curves.points {
        put(at.torque, at.efficiency, '*');
    }
    if let Some(at) = curves.at {
        put(at.torque, at.efficiency, 'O');
    }
    let mut lines = vec![Styled::new().muted(format!(
        "   * efficiency to 100 %   + output to {}   . speed to {}",
        write(Kind::Power, curves.peak.output),
        write(Kind::Speed, free.rpm)
    ))];
    for (row, signs) in field.iter().enumerate() {
        let axis = if row == 0 || row == HEIGHT - 1 { "   +" } else { "   |" };
        let signs: String = signs.iter().collect();
        lines.push(Styled::new().muted(axis).plain(signs.trim_end()));
    }
    lines.push(Styled::new().muted(format!("   +{}", "-".repeat(WIDTH))));
    let end = format!("{} torque", write(Kind::Torque, stalled.torque));
    let here = if curves.at.is_some() { "O where it works" } else { "" };
    let gap = WIDTH.saturating_sub(end.len() + here.len() + 2);
    lines.push(Styled::new().muted(format!("    0 {here}{}{end}", " ".repeat(gap))));
    lines
}
