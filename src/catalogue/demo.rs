//! The invented shop, carried inside the program so that the demo needs no file.

/// The folder's name, as problems and file lists show it.
pub const SHOP: &str = "formulas-demo";

macro_rules! files {
    ($($path:literal),+ $(,)?) => {
        /// Every file of the shop: its path inside the folder, and its text.
        pub const FILES: &[(&str, &str)] =
            &[$(($path, include_str!(concat!("../../formulas-demo/", $path)))),+];
    };
}

files![
    "README.md",
    "cups.toml",
    "scale.toml",
    "panels.toml",
    "products.toml",
    "toners.toml",
    "colours/bluethroat.toml",
    "colours/coal-tit.toml",
    "colours/dunlin.toml",
    "colours/foehn-wall.toml",
    "colours/gannet-white.toml",
    "colours/lesser-celandine.toml",
    "colours/polypody.toml",
    "colours/ptarmigan.toml",
    "colours/rime-plume.toml",
    "colours/rowan-thrush.toml",
    "colours/shale-drizzle.toml",
    "colours/shale-drizzle-coarser.toml",
    "colours/sloe-dusk.toml",
    "colours/sulphur-lichen.toml",
    "colours/waxcap.toml",
    "colours/wet-chert.toml",
];
