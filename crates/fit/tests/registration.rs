//! Does registration agree with published algebra, and does it refuse mirrors?

#![allow(clippy::unwrap_used, clippy::disallowed_methods, reason = "test code")]

use binwright_fit::registration::{Motion, Site, register, register_labelled, register_mirrored};
use proptest::prelude::*;
use serde_json::Value as Json;

/// Planar point sets with their best-fit residuals, worked with numpy's SVD (Kabsch) and checked
/// with the complex-number closed form; unlabelled ones by trying every assignment.
fn reference() -> Vec<Json> {
    let path =
        concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/rigid_registration.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn sites(case: &Json, name: &str) -> Vec<Site> {
    let at = |point: &Json, i: usize| point[i].as_f64().unwrap();
    case[name].as_array().unwrap().iter().map(|point| site(at(point, 0), at(point, 1))).collect()
}

fn site(x_mm: f64, y_mm: f64) -> Site {
    Site { role: 0, designation: 0, x_mm, y_mm }
}

fn number(case: &Json, name: &str) -> f64 {
    case[name].as_f64().unwrap()
}

#[test]
fn labelled_points_turn_and_leave_what_the_reference_says() {
    for case in reference() {
        let (model, measured) = (sites(&case, "model"), sites(&case, "measured"));
        let motion = register_labelled(&model, &measured).unwrap();
        let id = &case["id"];
        assert!((motion.rms_mm - number(&case, "rms_rotation_only")).abs() < 1e-6, "{id}");
        let turn = motion.angle_deg - number(&case, "angle_deg_rotation_only");
        assert!(((turn + 180.0).rem_euclid(360.0) - 180.0).abs() < 1e-6, "{id}");
    }
}

#[test]
fn unlabelled_points_that_fit_leave_what_trying_every_assignment_leaves() {
    let mut straight = 0;
    for case in reference().iter().filter(|case| case["generated_with_reflection"] == false) {
        let (model, measured) = (sites(case, "model"), sites(case, "measured_shuffled"));
        let motion = register(&model, &measured, reach(case)).unwrap();
        assert_eq!(motion.pairs.len(), model.len(), "{}", case["id"]);
        let rms = number(case, "rms_unlabelled_rotation_only");
        assert!((motion.rms_mm - rms).abs() < 1e-6, "{}", case["id"]);
        straight += 1;
    }
    assert_eq!(straight, 19);
}

#[test]
fn a_mirrored_set_is_refused_and_told_as_mirrored() {
    for case in reference().iter().filter(|case| case["generated_with_reflection"] == true) {
        let (model, measured) = (sites(case, "model"), sites(case, "measured_shuffled"));
        let reach = reach(case);
        let all = |motion: &Motion| motion.pairs.len() == model.len();
        assert!(!register(&model, &measured, reach).is_some_and(|motion| all(&motion)));
        let mirrored = register_mirrored(&model, &measured, reach).unwrap();
        assert!(mirrored.mirrored && all(&mirrored), "{}", case["id"]);
        let rms = number(case, "rms_unlabelled_reflection_allowed");
        assert!((mirrored.rms_mm - rms).abs() < 1e-6, "{}", case["id"]);
    }
}

/// Four standard deviations of a coordinate; exact sets are given to three decimals.
fn reach(case: &Json) -> f64 {
    4.0 * number(case, "noise_sd").max(0.001)
}

#[test]
fn roles_never_match_other_roles() {
    let model = [site(0.0, 0.0), site(60.0, 0.0), site(20.0, 30.0)];
    let mut measured = model;
    assert_eq!(register(&model, &measured, 1.0).unwrap().pairs.len(), 3);
    measured[2].role = 1;
    assert_eq!(register(&model, &measured, 1.0).unwrap().pairs.len(), 2);
}

#[test]
fn a_missing_and_a_wrong_point_leave_the_others_matched() {
    let model = [(0.0, 0.0), (60.0, 0.0), (20.0, 30.0), (-11.0, 44.0), (35.0, -25.0)];
    // The second is 5 mm off, the last but one was not taken, and one more was taken of nothing.
    let measured = [(20.0, 30.0), (65.0, 0.0), (0.0, 0.0), (-30.0, -30.0), (35.0, -25.0)];
    let [model, measured] = [model, measured].map(|points| points.map(|(x, y)| site(x, y)));
    let motion = register(&model, &measured, 1.0).unwrap();
    let pairs: Vec<_> = motion.pairs.iter().map(|pair| (pair.measured, pair.model)).collect();
    assert_eq!(pairs, [(0, 2), (2, 0), (4, 4)]);
}

fn set() -> impl Strategy<Value = Vec<Site>> {
    let point = (0..3_usize, -70.0..70.0_f64, -70.0..70.0_f64);
    prop::collection::vec(point, 4..9)
        .prop_map(|points| {
            let site = |(role, x_mm, y_mm)| Site { role, designation: 0, x_mm, y_mm };
            points.into_iter().map(site).collect::<Vec<Site>>()
        })
        .prop_filter("points stand apart", |sites| {
            sites.iter().enumerate().all(|(at, a)| {
                sites[..at].iter().all(|b| (a.x_mm - b.x_mm).hypot(a.y_mm - b.y_mm) > 6.0)
            })
        })
}

fn moved(sites: &[Site], degrees: f64, dx: f64, dy: f64) -> Vec<Site> {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let mut moved: Vec<Site> = sites
        .iter()
        .map(|s| Site {
            x_mm: cos * s.x_mm - sin * s.y_mm + dx,
            y_mm: sin * s.x_mm + cos * s.y_mm + dy,
            ..*s
        })
        .collect();
    moved.rotate_left(2); // another order
    moved
}

proptest! {
    #[test]
    fn registration_does_not_see_the_frame(
        model in set(), degrees in 0.0..360.0_f64, dx in -99.0..99.0_f64, dy in -99.0..99.0_f64,
        noise in prop::collection::vec(-0.3..0.3_f64, 18),
    ) {
        let mut measured = model.clone();
        for (site, off) in measured.iter_mut().zip(noise.chunks(2)) {
            (site.x_mm, site.y_mm) = (site.x_mm + off[0], site.y_mm + off[1]);
        }
        let here = register(&model, &measured, 1.5).unwrap();
        let there = register(&model, &moved(&measured, degrees, dx, dy), 1.5).unwrap();
        prop_assert_eq!(here.pairs.len(), model.len());
        prop_assert_eq!(there.pairs.len(), model.len());
        prop_assert!((here.rms_mm - there.rms_mm).abs() < 1e-9);
    }

    #[test]
    fn a_mirror_image_is_never_laid_on(model in set(), degrees in 0.0..360.0_f64) {
        let mirrored: Vec<Site> =
            model.iter().map(|site| Site { x_mm: -site.x_mm, ..*site }).collect();
        let measured = moved(&mirrored, degrees, 3.0, 4.0);
        // What is nearly its own mirror image has no hand; the mirrored copy itself says so.
        prop_assume!(register(&model, &mirrored, 2.0).is_none_or(|m| m.pairs.len() < model.len()));
        let straight = register(&model, &measured, 1.0);
        prop_assert!(straight.is_none_or(|motion| motion.pairs.len() < model.len()));
        let other = register_mirrored(&model, &measured, 1.0).unwrap();
        prop_assert_eq!(other.pairs.len(), model.len());
        prop_assert!(other.rms_mm < 1e-6);
    }
}
