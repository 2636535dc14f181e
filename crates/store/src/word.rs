//! Closed sets of words: one enum in the code, one word in a row and in JSON.

/// Makes an enum whose values are words of a row and of JSON.
macro_rules! words {
    ($(#[$about:meta])* $name:ident in $table:literal { $($(#[$each:meta])* $value:ident = $word:literal,)+ }) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$each])* #[serde(rename = $word)] $value,)+
        }

        impl $name {
            /// Every value, in order.
            pub const ALL: &'static [Self] = &[$(Self::$value),+];

            /// The word for it.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self {
                    $(Self::$value => $word,)+
                }
            }

            /// The value of a word, if it is one.
            #[must_use]
            pub fn from_word(word: &str) -> Option<Self> {
                match word {
                    $($word => Some(Self::$value),)+
                    _ => None,
                }
            }

            /// The value of a row's word.
            #[allow(dead_code, reason = "some sets are only written")]
            pub(crate) fn of_row(word: &str) -> Result<Self, $crate::StoreError> {
                Self::from_word(word).ok_or_else(|| $crate::StoreError::Row {
                    table: $table,
                    reason: format!("{word:?} is no known word"),
                })
            }
        }
    };
}

pub(crate) use words;
