//! One test binary; modules by capability.

mod authz;
mod rules;
mod vision;
