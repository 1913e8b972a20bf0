//! What the shop keeps on paper: toners, cups and colours; loaded, checked and found.
