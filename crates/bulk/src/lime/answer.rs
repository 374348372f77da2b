//! What is written of a row's acidity.

use crate::line::{Line, Piece};

/// What is written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Answer<'p> {
    pub(crate) class: &'static Piece,
    pub(crate) rate: Rate<'p>,
    pub(crate) unconfirmed: bool,
}

/// The rate and its method.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Rate<'p> {
    Ready(&'p Piece),
    /// lb/acre and the method’s key
    Amount(f64, &'static str),
}

impl Rate<'_> {
    #[inline]
    pub(crate) fn write(self, out: &mut Line) {
        match self {
            Self::Ready(piece) => out.piece(piece),
            Self::Amount(lb_per_acre, method) => {
                out.tenth(lb_per_acre);
                out.byte(b',');
                out.text(method.as_bytes());
                out.byte(b',');
            }
        }
    }
}

static NO_CLASS: Piece = Piece::known(",");
pub(super) static BELOW: Piece = Piece::known("below,");
pub(super) static IN_RANGE: Piece = Piece::known("in range,");
pub(super) static ABOVE: Piece = Piece::known("above,");

pub(super) static NO_RATE: Piece = Piece::known(",,");
static NO_LIME: Piece = Piece::known("0,,");

impl Answer<'_> {
    pub(super) const NONE: Self = Self {
        class: &NO_CLASS,
        rate: Rate::Ready(&NO_RATE),
        unconfirmed: false,
    };

    pub(super) fn no_lime(class: &'static Piece) -> Self {
        Self {
            class,
            rate: Rate::Ready(&NO_LIME),
            unconfirmed: false,
        }
    }
}
