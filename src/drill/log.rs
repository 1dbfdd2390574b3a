//! Versioned line-by-line logs of attempts.
