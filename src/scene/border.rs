//! Where a piece's sites meet: how near each corner lies to a border, and which site is beyond it.
//!
//! The shader lets the specks of a site thin out, or grow dense, towards a neighbour that carries less or more. It
//! knows triangles and site numbers only, nothing of loads.

use std::collections::HashMap;

use bevy::math::Vec3;

use super::sites::NOWHERE;

/// Share of a site's size (the root of its area) over which its specks follow a neighbour's.
const REACH: f32 = 0.24;
/// Narrowest and widest such strip, metres.
const STRIP: (f32, f32) = (0.006, 0.075);

/// What one corner of a triangle knows of the nearest border of its site.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Near {
    /// The nearest point of the border found so far.
    at: Vec3,
    /// From there to the corner, metres.
    away: f32,
    /// The site beyond.
    beyond: u16,
}

/// One triangle's neighbour and how far its corners are from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// The site beyond the nearest border.
    pub beyond: u16,
    /// For each corner 0 at the border to 1 where it is felt no more.
    pub depth: [f32; 3],
}

/// The nearest border of each triangle; `None` where none is near.
///
/// `pos` are the corners' positions at rest (m), `same` gives each corner the first one at its place, so that
/// corners kept apart by their paint or site are known as one.
pub fn edges(pos: &[Vec3], same: &[u32], tris: &[[u32; 3]], sites: &[u16]) -> Vec<Option<Edge>> {
    let mut area: HashMap<u16, f32> = HashMap::new();
    // One number for each place and site.
    let mut known: HashMap<(u32, u16), u32> = HashMap::new();
    let mut at: Vec<Vec3> = Vec::new();
    let mut owners: HashMap<u32, Vec<(u16, u32)>> = HashMap::new();
    let mut corners = Vec::with_capacity(tris.len());
    for (tri, site) in tris.iter().zip(sites) {
        let [a, b, c] = tri.map(|v| pos[v as usize]);
        *area.entry(*site).or_default() += (b - a).cross(c - a).length() * 0.5;
        corners.push(tri.map(|v| {
            let place = same[v as usize];
            *known.entry((place, *site)).or_insert_with(|| {
                let new = at.len() as u32;
                at.push(pos[v as usize]);
                owners.entry(place).or_default().push((*site, new));
                new
            })
        }));
    }
    let strip: HashMap<u16, f32> = area
        .iter()
        .map(|(site, area)| (*site, (REACH * area.sqrt()).clamp(STRIP.0, STRIP.1)))
        .collect();
    let mut near: Vec<Option<Near>> = vec![None; at.len()];
    for list in owners.values().filter(|l| l.len() > 1) {
        for (site, corner) in list {
            let other = list
                .iter()
                .map(|o| o.0)
                .find(|s| s != site && (*s as usize) < NOWHERE);
            near[*corner as usize] = other.map(|beyond| Near {
                at: at[*corner as usize],
                away: 0.0,
                beyond,
            });
        }
    }
    // The nearest border point is handed from corner to corner until nothing comes nearer.
    let mut changed = true;
    while changed {
        changed = false;
        for (tri, site) in corners.iter().zip(sites) {
            let wide = strip[site];
            for (from, to) in [(0, 1), (1, 2), (2, 0), (1, 0), (2, 1), (0, 2)] {
                let Some(found) = near[tri[from] as usize] else {
                    continue;
                };
                let to = tri[to] as usize;
                let away = (at[to] - found.at).length();
                if away < wide && near[to].is_none_or(|n| away < n.away) {
                    near[to] = Some(Near { away, ..found });
                    changed = true;
                }
            }
        }
    }
    corners
        .iter()
        .zip(sites)
        .map(|(tri, site)| {
            let found = tri.map(|v| near[v as usize]);
            let nearest = found.iter().flatten().min_by(|a, b| a.away.total_cmp(&b.away))?;
            let depth = found.map(|n| n.map_or(1.0, |n| n.away / strip[site]));
            Some(Edge {
                beyond: nearest.beyond,
                depth,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip of squares a centimetre wide along x; the first half is site 3, the second site 8.
    fn strip(squares: u32) -> (Vec<Vec3>, Vec<[u32; 3]>, Vec<u16>) {
        let pos = (0..=squares)
            .flat_map(|i| [0.0, 0.01].map(|y| Vec3::new(i as f32 * 0.01, y, 0.0)))
            .collect();
        let square = |i: u32| [[2 * i, 2 * i + 2, 2 * i + 3], [2 * i, 2 * i + 3, 2 * i + 1]];
        let tris: Vec<[u32; 3]> = (0..squares).flat_map(square).collect();
        let sites = (0..squares * 2)
            .map(|t| if t < squares { 3 } else { 8 })
            .collect();
        (pos, tris, sites)
    }

    #[test]
    fn each_side_of_a_border_knows_the_other_and_the_way_to_it() {
        let (pos, tris, sites) = strip(40);
        let same: Vec<u32> = (0..pos.len() as u32).collect();
        let found = edges(&pos, &same, &tris, &sites);
        let wide = (REACH * (20.0f32 * 0.01 * 0.01).sqrt()).clamp(STRIP.0, STRIP.1);
        for ((tri, site), edge) in tris.iter().zip(&sites).zip(&found) {
            let other = if *site == 3 { 8 } else { 3 };
            let away = tri.map(|v| (pos[v as usize].x - 0.20).abs());
            let Some(edge) = edge else {
                assert!(
                    away.iter().all(|a| *a > wide * 0.99),
                    "a triangle at {away:?} m from the border has not heard of it"
                );
                continue;
            };
            assert_eq!(edge.beyond, other, "site {site} has the wrong neighbour");
            for (depth, away) in edge.depth.iter().zip(away) {
                let wanted = (away / wide).min(1.0);
                assert!(
                    (depth - wanted).abs() < 1e-3,
                    "depth {depth} where {wanted} is the way to the border"
                );
            }
        }
    }

    #[test]
    fn a_site_alone_has_no_border() {
        let (pos, tris, _) = strip(10);
        let same: Vec<u32> = (0..pos.len() as u32).collect();
        let found = edges(&pos, &same, &tris, &vec![5; tris.len()]);
        assert!(found.iter().all(Option::is_none), "a border without a neighbour");
        let beside_nothing: Vec<u16> = (0..tris.len())
            .map(|t| if t < 10 { 5 } else { NOWHERE as u16 })
            .collect();
        let found = edges(&pos, &same, &tris, &beside_nothing);
        assert!(
            found[..10].iter().all(Option::is_none),
            "what has no site is no neighbour"
        );
    }
}
