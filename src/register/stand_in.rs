//! Affine alone, until the other models are merged.

use super::Pair;
use crate::geometry::{PlaneTransform, Point, Transform};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Model {
    Similarity,
    Affine,
    Homography,
    Piecewise,
}

#[allow(missing_docs)]
impl Model {
    pub const ALL: [Self; 4] = [Self::Similarity, Self::Affine, Self::Homography, Self::Piecewise];
    pub fn word(self) -> &'static str {
        ["similarity", "affine", "homography", "piecewise"][self as usize]
    }
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|model| model.word() == word)
    }
    pub fn suggested(_: usize) -> Self {
        Self::Affine
    }
}

#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)]
pub struct Fitted {
    pub transform: Transform,
    pub errors: Vec<Point>,
    pub left_out: Vec<Option<Point>>,
    pub rms: f64,
    pub left_out_rms: Option<f64>,
}

#[allow(missing_docs, clippy::missing_errors_doc)]
pub fn fit(pairs: &[Pair], _: Model) -> Result<Fitted, &'static str> {
    let (mut m, mut bx, mut by) = ([[0.0; 3]; 3], [0.0; 3], [0.0; 3]);
    for pair in pairs {
        let row = [pair.from.0, pair.from.1, 1.0];
        for i in 0..3 {
            for j in 0..3 {
                m[i][j] += row[i] * row[j];
            }
            bx[i] += row[i] * pair.to.0;
            by[i] += row[i] * pair.to.1;
        }
    }
    let solve = |b: [f64; 3]| {
        let det = |m: &[[f64; 3]; 3]| {
            m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
                - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
                + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
        };
        let all = det(&m);
        core::array::from_fn::<f64, 3, _>(|k| {
            let mut with = m;
            for i in 0..3 {
                with[i][k] = b[i];
            }
            det(&with) / all
        })
    };
    let plane = (pairs.len() > 2).then(|| PlaneTransform::affine(solve(bx), solve(by))).flatten();
    let plane = plane.ok_or("Three points or more are needed that do not lie on a line.")?;
    let errors: Vec<Point> = pairs
        .iter()
        .map(|pair| {
            let (x, y) = plane.at(pair.from).unwrap_or_default();
            (x - pair.to.0, y - pair.to.1)
        })
        .collect();
    let rms = (errors.iter().map(|(x, y)| x * x + y * y).sum::<f64>() / errors.len() as f64).sqrt();
    Ok(Fitted {
        transform: Transform::Plane(plane),
        left_out: vec![None; errors.len()],
        errors,
        rms,
        left_out_rms: None,
    })
}
