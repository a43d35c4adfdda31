//! How does the main job go? Walked through on the made-up shop, in plain lines, without a prompt.

use std::path::PathBuf;

use binwright_shop::answer::FitAnswer;
use binwright_shop::counter::Card;
use binwright_shop::{Asked, Shop};

use crate::act::{Done, Failure, is_empty, today};
use crate::args::DemoArgs;
use crate::say::Say;
use crate::{import, render};

/// What the caliper says of a plate without a legible number.
const MEASURED: [&str; 5] =
    ["rectifier-plate", "phase_lugs=4", "outline_od=112.1", "mount_pitch=92.1", "bplus_thread=M8"];
/// And where its points lie.
const POINTS: &str = "hole@0,0/6.2; hole@92.1,0/6.2; hole@46.2,-28/6.2; stud:B+@81.8,7.2/M8; \
                      lead:U@16.2,-7.4; lead:V@35.1,-19.1; lead:W@56.9,-18.8; lead:N@75.5,-7.4";

/// Builds the made-up shop and walks the counter's job on it.
///
/// # Errors
///
/// [`Failure`] when the folder cannot be written or is in use.
pub fn demo(args: &DemoArgs, say: &mut Say) -> Result<Done, Failure> {
    let dir = match &args.dir {
        Some(dir) if is_empty(dir) => dir.clone(),
        Some(dir) => return Err(Failure::NotEmpty { folder: dir.display().to_string() }),
        None => fresh_folder(),
    };
    say.heading(format!("{}, a made-up shop, in {}", binwright_shop::demo::NAME, dir.display()));
    let (mut shop, brought) = Shop::demo(&dir, &dir.join("index"), today())?;
    for imported in &brought {
        import::render(say, imported);
    }

    say.line("");
    say.heading("1  A plate lies on the counter, no number to be read. The caliper says:");
    say.line(format!("   binwright fit {}", MEASURED.join(" ")));
    let mut asked = Asked::from_words(&MEASURED.map(str::to_owned))?;
    let by_caliper = shop.fit(&asked, 4)?;
    render::fit_answer(say, &by_caliper);

    say.line("");
    say.heading(
        "2  Calipers leave mirror images apart from each other undecided. The points decide:",
    );
    say.line(format!("   binwright fit {} --layout \"{POINTS}\"", MEASURED.join(" ")));
    asked.layout = Some(POINTS.to_owned());
    let by_points = shop.fit(&asked, 2)?;
    render::fit_answer(say, &by_points);

    say.line("");
    say.heading("3  What that number has become, where it lies, and at what price:");
    follow(say, &shop, &by_points)?;

    say.line("");
    say.heading("4  A number that was worn when it was read:");
    say.line("   binwright find 'RP-1l3?C'");
    render::found(say, &shop.find("RP-1l3?C", 2)?);

    say.line("");
    say.line(format!("The shop stays in {}; look around in it:", dir.display()));
    say.line(format!("   binwright --shop {} show AU-1112", dir.display()));
    Ok(Done::Well)
}

/// Shows the end of the chain of replacements of the likeliest candidate.
fn follow(say: &mut Say, shop: &Shop, answer: &FitAnswer) -> Result<(), Failure> {
    let Some(first) = answer.candidates.first() else { return Ok(()) };
    let end = first
        .supply
        .crosses
        .iter()
        .find(|cross| cross.words() == "replaced by")
        .map_or(&first.number, |cross| &cross.number);
    say.line(format!("   binwright show {end}"));
    if let Card::Parts(cards) = shop.card(end)? {
        cards.iter().for_each(|card| render::part_card(say, card));
    }
    Ok(())
}

/// A folder under the temporary folder that is not there yet.
fn fresh_folder() -> PathBuf {
    let base = std::env::temp_dir();
    (1..)
        .map(|at| base.join(format!("binwright-demo-{at}")))
        .find(|folder| !folder.exists())
        .unwrap_or(base)
}
