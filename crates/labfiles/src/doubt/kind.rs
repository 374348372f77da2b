//! What a doubt rests on.

use serde::{Deserialize, Serialize};

macro_rules! kinds {
    ($($(#[$doc:meta])* $variant:ident = $key:literal, $says:literal;)+) => {
        /// What a doubt rests on.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
        pub enum DoubtKind {
            $($(#[$doc])* #[serde(rename = $key)] $variant),+
        }

        impl DoubtKind {
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The key that stored decisions carry.
            pub fn key(self) -> &'static str {
                match self { $(Self::$variant => $key),+ }
            }

            /// The same in a grower's words.
            pub fn says(self) -> &'static str {
                match self { $(Self::$variant => $says),+ }
            }
        }
    };
}

kinds! {
    /// said while reading the file
    #[default]
    Reading = "reading", "how the file was read";
    NoExtractant = "no_extractant", "no extractant named";
    /// read off a picture: compared by eye
    Picture = "picture", "read off a picture";
    Impossible = "impossible", "a value that cannot be";
    Unlikely = "unlikely", "a value that no farm soil gives";
    AtLeast = "at_least", "printed as more than";
    CationSum = "cation_sum", "cations beside the CEC";
    Saturation = "saturation", "base saturation beside the cations";
    SaturationSum = "saturation_sum", "base saturation that does not make 100 %";
    PhAndBases = "ph_and_bases", "pH beside the bases";
    Buffer = "buffer", "pH beside buffer pH";
    LastTime = "last_time", "unlike the block's last test";
    Swapped = "swapped", "phosphorus and potassium swapped";
    OrganicMatter = "organic_matter", "organic matter in another unit";
    Salts = "salts", "salts in another unit";
    OtherBlock = "other_block", "more like another block";
    Copy = "copy", "two samples alike";
    SameName = "same_name", "two samples of one name";
    LoadedTwice = "loaded_twice", "a report loaded before";
}

impl DoubtKind {
    /// Whether it comes from how the file was read, not from the values.
    pub fn of_reading(self) -> bool {
        matches!(self, Self::Reading | Self::NoExtractant | Self::Picture)
    }
}
