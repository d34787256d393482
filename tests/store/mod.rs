//! What the store relies on the engines for.

mod numbers;
