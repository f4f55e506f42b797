//! The arithmetic every quantity shares.

/// Defines a quantity: a `Copy` number of base units with sums, differences, multiples and ratios.
///
/// Two of a kind add; a number multiplies; the ratio of two is a plain number. Nothing else compiles, which is the point.
macro_rules! quantity {
    ($(#[$about:meta])* $name:ident in $base:literal) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("Zero ", $base, ".")]
            pub const ZERO: Self = Self(0.0);

            /// The same size without its sign.
            #[must_use]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// The smaller of the two.
            #[must_use]
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// The larger of the two.
            #[must_use]
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            /// Whether the two differ by no more than `tolerance`.
            #[must_use]
            pub fn is_near(self, other: Self, tolerance: Self) -> bool {
                (self.0 - other.0).abs() <= tolerance.0
            }

            /// A total order, for sorting.
            #[must_use]
            pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering {
                self.0.total_cmp(&other.0)
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, times: f64) -> Self {
                Self(self.0 * times)
            }
        }

        impl std::ops::Mul<$name> for f64 {
            type Output = $name;
            fn mul(self, one: $name) -> $name {
                $name(self * one.0)
            }
        }

        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, parts: f64) -> Self {
                Self(self.0 / parts)
            }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
                all.fold(Self::ZERO, |a, b| a + b)
            }
        }

        impl<'a> std::iter::Sum<&'a $name> for $name {
            fn sum<I: Iterator<Item = &'a Self>>(all: I) -> Self {
                all.copied().sum()
            }
        }
    };
}

/// Gives a quantity a constructor and an accessor for each unit: `from_feet` and `feet`.
macro_rules! in_units {
    ($name:ident { $($from:ident, $to:ident: $size:expr, $unit:literal;)+ }) => {
        impl $name {
            $(
                #[doc = concat!("From ", $unit, ".")]
                #[must_use]
                pub const fn $from(value: f64) -> Self {
                    Self(value * $size)
                }

                #[doc = concat!("In ", $unit, ".")]
                #[must_use]
                pub const fn $to(self) -> f64 {
                    self.0 / $size
                }
            )+
        }
    };
}

pub(crate) use {in_units, quantity};
