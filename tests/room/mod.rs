//! The room plan: the rows of seats as they are entered, and which seat reads
//! what. Every figure is counted by hand beside the test.

mod judged;
mod pages;
mod rows;
