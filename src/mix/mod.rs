//! The heart: pure arithmetic and one state machine. No clock, no I/O, no floats in a weight.
