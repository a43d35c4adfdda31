//! With what are the screens opened?

use clap::Args;

/// Options of the screens, which open when no command is named.
#[derive(Debug, Clone, Copy, Args)]
#[command(next_help_heading = "Screens")]
pub struct ScreensArgs {
    /// Draw with characters of ASCII only; by itself where the locale has no others
    #[arg(long)]
    pub ascii: bool,
    /// Take the mouse (Shift and drag then marks text, as the terminal has it)
    #[arg(long)]
    pub mouse: bool,
    /// The longest gap between two characters of a barcode scanner, in milliseconds
    #[arg(long, default_value_t = 50, value_name = "MS", value_parser = clap::value_parser!(u64).range(1..=1000))]
    pub scan_gap_ms: u64,
    /// The character a barcode scanner puts before every code
    #[arg(long, value_name = "CHAR")]
    pub scan_prefix: Option<char>,
}
