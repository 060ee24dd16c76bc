//! One over whole numbers, for the terms of series: a product where a quotient would be waited for.

const MOST: usize = 48;

/// One over a whole number up to 48, 1 at the place of zero.
pub const ONE_OVER: [f64; MOST + 1] = {
    let mut table = [1.0; MOST + 1];
    let mut n = 1;
    while n <= MOST {
        table[n] = 1.0 / n as f64;
        n += 1;
    }
    table
};
