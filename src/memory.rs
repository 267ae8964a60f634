//! Does an answer fit into the machine's free memory? Asked before the memory is taken.

use crate::error::{Result, accept};

/// Less than this is not worth asking for.
const SMALL_BYTES: f64 = 67_108_864.0;

const GIGABYTE: f64 = 1e9;

/// Accepts a size whose answer takes `bytes`, or names `field` with its `value`.
///
/// # Errors
/// More than the free memory, where the machine tells it, or than the allocator gives.
pub fn fits(field: &str, value: &str, bytes: f64) -> Result<()> {
    if bytes <= SMALL_BYTES {
        return Ok(());
    }
    let free = free_bytes().unwrap_or(f64::INFINITY);
    let given =
        bytes < isize::MAX as f64 && Vec::<u8>::new().try_reserve_exact(bytes as usize).is_ok();
    let (needed_gb, free_gb) = (bytes / GIGABYTE, free / GIGABYTE);
    accept(
        bytes <= free && given,
        field,
        value,
        format_args!(
            "few enough for the memory that is free; {needed_gb:.1} GB of {free_gb:.1} GB are needed"
        ),
    )
    .map(drop)
}

/// What Linux counts as available; elsewhere the allocator alone decides.
fn free_bytes() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/meminfo").ok()?;
    let rest = text.split("MemAvailable:").nth(1)?;
    let kilobytes: f64 = rest.split_whitespace().next()?.parse().ok()?;
    Some(kilobytes * 1024.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_answer_fits_and_an_exabyte_is_refused_by_name() {
        assert!(fits("cases", "10", 80.0).is_ok());
        assert!(fits("cases", "10", 1e8).is_ok());
        let error = fits("cases", "2", 1e18).unwrap_err();
        assert_eq!((error.field.as_str(), error.value.as_str()), ("cases", "2"));
        assert!(error.allowed.contains("1000000000.0 GB of "), "{error}");
    }
}
