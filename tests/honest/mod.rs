//! Honest input: what cannot be is refused where it is entered; what may carry
//! another unit is kept, asked about, and in no figure until its writer answers.

mod asked;
