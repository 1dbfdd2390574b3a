//! Who does something, what it is for, and what it is known by.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize};
use uuid::Uuid;

use super::{Code, Label};

/// What an attempt or an entry is known by, anywhere: 122 random bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Id(#[serde(with = "simple")] Uuid);

mod simple {
    use serde::Serializer;
    use uuid::Uuid;

    pub(super) fn serialize<S: Serializer>(id: &Uuid, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(&id.hyphenated())
    }
}

impl Id {
    /// A new one, like no other.
    pub fn fresh() -> Id {
        Id(Uuid::new_v4())
    }

    /// An id as it is written.
    ///
    /// # Errors
    /// A sentence: this is none.
    pub fn parse(text: &str) -> Result<Id, String> {
        Uuid::try_parse(text)
            .map(Id)
            .map_err(|_| format!("`{}` is no id", crate::content::fault::printable(text)))
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0.hyphenated(), f)
    }
}

impl<'de> Deserialize<'de> for Id {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Id, D::Error> {
        struct Read;
        impl serde::de::Visitor<'_> for Read {
            type Value = Id;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an id")
            }
            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Id, E> {
                Id::parse(text).map_err(E::custom)
            }
        }
        d.deserialize_str(Read)
    }
}

/// Whom an attempt or an entry is about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// A code or nickname.
    pub code: Code,
    /// Where they work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ward: Option<Label>,
    /// What they work as.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub group: Option<Label>,
}

/// What an attempt was made for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// Practice alone.
    #[default]
    Practice,
    /// Assessment by somebody else.
    Assessment,
    /// A class.
    Class,
    /// A script that was played.
    Script,
}

impl Purpose {
    /// All of them with the word that files have and the words people read.
    pub const ALL: [(Purpose, &'static str, &'static str); 4] = [
        (Purpose::Practice, "practice", "practice"),
        (Purpose::Assessment, "assessment", "assessment"),
        (Purpose::Class, "class", "class"),
        (Purpose::Script, "script", "a script"),
    ];

    /// The word that files have.
    pub fn word(self) -> &'static str {
        Purpose::ALL.iter().find(|(p, ..)| *p == self).map_or("", |p| p.1)
    }

    /// The words people read.
    pub fn label(self) -> &'static str {
        Purpose::ALL.iter().find(|(p, ..)| *p == self).map_or("", |p| p.2)
    }
}
