use crate::atlas::{self, Entry};

/// The type scale, largest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Size {
    /// The clock or temperature in the band: figures, signs, `h m s n o w`.
    Xxl,
    /// The lane number in the band, and the figures of the page of one lane: as [`Size::Xxl`].
    Badge,
    /// Figures when two alerts share the band: as [`Size::Xxl`].
    Xl,
    /// Figures in a cell: as [`Size::Xxl`].
    L,
    /// The words of a question and other large words.
    Question,
    /// Band label, choices.
    M,
    /// Names, key words, header; nothing is smaller.
    S,
}

impl Size {
    /// All sizes, largest first.
    pub const ALL: [Self; 7] = [Self::Xxl, Self::Badge, Self::Xl, Self::L, Self::Question, Self::M, Self::S];

    /// Height of a capital letter or a figure above the baseline, in px.
    pub const fn capital(self) -> u32 {
        match self {
            Self::Xxl => 78,
            Self::Badge => 66,
            Self::Xl => 44,
            Self::L => 31,
            Self::Question => 26,
            Self::M => 20,
            Self::S => 16,
        }
    }

    pub(crate) fn table(self) -> &'static [Entry] {
        match self {
            Self::Xxl => &atlas::XXL,
            Self::Badge => &atlas::BADGE,
            Self::Xl => &atlas::XL,
            Self::L => &atlas::L,
            Self::Question => &atlas::QUESTION,
            Self::M => &atlas::M,
            Self::S => &atlas::S,
        }
    }
}
