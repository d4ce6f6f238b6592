//! Which passage every measured point lies in, by what was painted and before anything was counted.

use crate::paint::{Canvas, FINE, HEIGHT, Layer, Seen, WIDTH};
use crate::palette::{EDGE, INDIGO, OAK, PAPER, SHADE, STAIN};

/// A passage where every cell of a point shows the same paint, laid well; 0 for all others (edges, thin strokes, mixtures),
/// which are passed over. 1 paper, bare or under indigo alone, 2 red earth, 3 copper green, 4 lead, 5 vermilion, 6 repair, 7 ink,
/// 8 bare board, 9 smalt, a lead-tin yellow, b bone black, c gold, d worn pennant.
fn passage(seen: Seen, layers: &[Layer]) -> char {
    let top = layers.last().map_or(0.0, |layer| layer.amount);
    let is_bare = || {
        let allowed = [OAK.index, SHADE.index, PAPER.index, EDGE.index, STAIN.index, INDIGO.index];
        layers.iter().all(|layer| allowed.contains(&layer.paint))
    };
    match seen {
        Seen::Paper | Seen::Indigo if is_bare() => '1',
        Seen::RedEarth if top > 0.4 => '2',
        Seen::CopperGreen if top > 0.4 => '3',
        Seen::RedLead | Seen::LeadWhite if top > 0.4 => '4',
        Seen::Vermilion => '5',
        Seen::Repair if top > 0.5 => '6',
        Seen::IronGall if top > 0.5 => '7',
        Seen::Oak if is_bare() => '8',
        Seen::Smalt if top > 0.5 => '9',
        Seen::Yellow if top > 0.5 => 'a',
        Seen::BoneBlack if top > 0.5 => 'b',
        Seen::Gold if top > 0.5 => 'c',
        Seen::Pennant => 'd',
        _ => '0',
    }
}

/// A row of signs for each row of points.
pub fn rows(canvas: &Canvas) -> Vec<String> {
    let of_point = |x: usize, y: usize| {
        let mut all: Vec<char> = (0..FINE * FINE)
            .map(|i| (y * FINE + i / FINE) * Canvas::WIDE + x * FINE + i % FINE)
            .map(|cell| passage(canvas.seen()[cell], &canvas.layers()[cell]))
            .collect();
        all.dedup();
        if let [one] = all.as_slice() { *one } else { '0' }
    };
    (0..HEIGHT).map(|y| (0..WIDTH).map(|x| of_point(x, y)).collect()).collect()
}
