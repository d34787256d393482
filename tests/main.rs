//! One test binary; modules by capability.

mod authz;
