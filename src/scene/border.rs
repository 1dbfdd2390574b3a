//! Where a piece's sites meet: how near each corner lies to a border, and which site is beyond it.
//!
//! The shader lets the specks of a site thin out, or grow dense, towards a neighbour that carries less or more. It
//! knows triangles and site numbers only, nothing of loads.

use bevy::math::Vec3;

use super::shape::field::noise;
use super::sites::NOWHERE;

/// Share of a site's size (the root of its area) over which its specks follow a neighbour's.
const REACH: f32 = 0.40;
/// Narrowest and widest such strip, metres. The widest spans several specks in whole-figure views: a border that
/// thins out over two of them looks cut.
const STRIP: (f32, f32) = (0.006, 0.135);
/// How much wider and narrower than that a strip is along its border, so that its end is no line either, and how
/// soon that changes, per metre.
const RAGGED: f32 = 0.45;
const RAGS: f32 = 22.0;

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
/// corners kept apart by their paint are known as one. A corner belongs to triangles of one site.
pub fn edges(pos: &[Vec3], same: &[u32], tris: &[[u32; 3]], sites: &[u16]) -> Vec<Option<Edge>> {
    let (node, mut near) = nodes(pos, same, tris, sites);
    let strip = strips(pos, tris, sites);
    // The nearest border point is handed from corner to corner until nothing comes nearer.
    let mut fresh: Vec<bool> = near.iter().map(Option::is_some).collect();
    while fresh.contains(&true) {
        let mut next = vec![false; fresh.len()];
        for (tri, site) in tris.iter().zip(sites) {
            let tri = tri.map(|v| node[v as usize] as usize);
            if !tri.iter().any(|v| fresh[*v]) {
                continue;
            }
            let wide = strip[*site as usize] * (1.0 + RAGGED);
            for (from, to) in [(0, 1), (1, 2), (2, 0), (1, 0), (2, 1), (0, 2)] {
                let (from, to) = (tri[from], tri[to]);
                let Some(found) = near[from] else {
                    continue;
                };
                let away = (pos[to] - found.at).length();
                if away < wide && near[to].is_none_or(|n| away < n.away) {
                    near[to] = Some(Near { away, ..found });
                    next[to] = true;
                }
            }
        }
        fresh = next;
    }
    tris.iter()
        .zip(sites)
        .map(|(tri, site)| {
            let found = tri.map(|v| near[node[v as usize] as usize]);
            let nearest = found.iter().flatten().min_by(|a, b| a.away.total_cmp(&b.away))?;
            let wide = strip[*site as usize];
            Some(Edge {
                beyond: nearest.beyond,
                depth: found.map(|n| n.map_or(1.0, |n| n.away / (wide * ragged(n.at)))),
            })
        })
        .collect()
}

/// How wide the strip is that begins at a place of a border, against its usual width.
fn ragged(at: Vec3) -> f32 {
    1.0 + RAGGED * noise(at * RAGS)
}

/// One corner to stand for all of a site at one place, and what those know that lie on a border.
fn nodes(pos: &[Vec3], same: &[u32], tris: &[[u32; 3]], sites: &[u16]) -> (Vec<u32>, Vec<Option<Near>>) {
    const NONE: u32 = u32::MAX;
    let mut node = vec![NONE; pos.len()];
    // The standing corners of one place make a chain; each has the site of a triangle it belongs to.
    let (mut head, mut next) = (vec![NONE; pos.len()], vec![NONE; pos.len()]);
    let mut site_of = vec![0u16; pos.len()];
    let mut near = vec![None; pos.len()];
    for (tri, site) in tris.iter().zip(sites) {
        for v in tri.map(|v| v as usize) {
            if node[v] != NONE {
                continue;
            }
            let place = same[v] as usize;
            let mut at = head[place];
            while at != NONE && site_of[at as usize] != *site {
                at = next[at as usize];
            }
            if at != NONE {
                node[v] = at;
                continue;
            }
            (node[v], site_of[v]) = (v as u32, *site);
            (next[v], head[place]) = (head[place], v as u32);
            // Whoever stands here already is a neighbour, and has one now.
            let mut at = next[v];
            while at != NONE {
                let other = site_of[at as usize];
                for (corner, beyond) in [(v, other), (at as usize, *site)] {
                    if (beyond as usize) < NOWHERE {
                        near[corner].get_or_insert(Near {
                            at: pos[corner],
                            away: 0.0,
                            beyond,
                        });
                    }
                }
                at = next[at as usize];
            }
        }
    }
    (node, near)
}

/// How wide the strip along its borders is, by site, metres.
fn strips(pos: &[Vec3], tris: &[[u32; 3]], sites: &[u16]) -> Vec<f32> {
    let most = sites.iter().max().map_or(0, |s| *s as usize + 1);
    let mut area = vec![0.0f32; most];
    for (tri, site) in tris.iter().zip(sites) {
        let [a, b, c] = tri.map(|v| pos[v as usize]);
        area[*site as usize] += (b - a).cross(c - a).length() * 0.5;
    }
    area.iter()
        .map(|area| (REACH * area.sqrt()).clamp(STRIP.0, STRIP.1))
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

    /// The same with corners of its own for each site, and for each corner the first at its place.
    fn apart(pos: &[Vec3], tris: &[[u32; 3]], sites: &[u16]) -> (Vec<Vec3>, Vec<u32>, Vec<[u32; 3]>) {
        let n = pos.len() as u32;
        let first = sites[0];
        let own = |(tri, site): (&[u32; 3], &u16)| tri.map(|v| if *site == first { v } else { v + n });
        let tris = tris.iter().zip(sites).map(own).collect();
        let same = (0..n).chain(0..n).collect();
        ([pos, pos].concat(), same, tris)
    }

    #[test]
    fn each_side_of_a_border_knows_the_other_and_the_way_to_it() {
        let (pos, tris, sites) = strip(40);
        let (pos, same, tris) = apart(&pos, &tris, &sites);
        let found = edges(&pos, &same, &tris, &sites);
        let wide = (REACH * (20.0f32 * 0.01 * 0.01).sqrt()).clamp(STRIP.0, STRIP.1);
        for ((tri, site), edge) in tris.iter().zip(&sites).zip(&found) {
            let other = if *site == 3 { 8 } else { 3 };
            let away = tri.map(|v| (pos[v as usize].x - 0.20).abs());
            let Some(edge) = edge else {
                assert!(
                    away.iter().all(|a| *a > wide * (1.0 + RAGGED) * 0.99),
                    "a triangle at {away:?} m from the border has not heard of it"
                );
                continue;
            };
            assert_eq!(edge.beyond, other, "site {site} has the wrong neighbour");
            for (depth, away) in edge.depth.iter().zip(away) {
                let wanted = [1.0 + RAGGED, 1.0 - RAGGED].map(|w| away / (wide * w));
                assert!(
                    depth.min(1.0) > wanted[0].min(1.0) - 1e-3 && *depth < wanted[1] + 1e-3 || *depth == 1.0,
                    "depth {depth} where {wanted:?} is the way to the border"
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
        let (pos, same, tris) = apart(&pos, &tris, &beside_nothing);
        let found = edges(&pos, &same, &tris, &beside_nothing);
        assert!(
            found[..10].iter().all(Option::is_none),
            "what has no site is no neighbour"
        );
    }
}
