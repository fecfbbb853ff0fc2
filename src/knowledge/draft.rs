//! All entries as they are written, with where each stands; layers laid over one another.

use std::collections::{HashMap, HashSet};

use indexmap::IndexMap;

use super::diagnostic::{Code, Diagnostic, Sink};
use super::places::quoted;
use super::raw::*;
use super::source::{Docs, EntryRef, Trail};

/// Ids that are taken as known from the text of a file that could not be read.
const MOST_LOST: usize = 1000;

/// An entry as it is written, and where.
#[derive(Debug)]
pub struct Found<T> {
    pub raw: T,
    pub at: EntryRef,
}

/// The entries of one list: those that could be read, and the ids of those that could not.
#[derive(Debug)]
pub struct List<T> {
    pub entries: IndexMap<String, Found<T>>,
    /// Entries whose id an earlier entry of the same layer has.
    again: Vec<(String, EntryRef)>,
    /// Ids of entries whose shape is wrong, so that naming them is not called an unknown id as well.
    broken: HashSet<String>,
    /// Whether any entry is missing here because its shape is wrong.
    pub torn: bool,
}

impl<T> Default for List<T> {
    fn default() -> Self {
        List { entries: IndexMap::new(), again: Vec::new(), broken: HashSet::new(), torn: false }
    }
}

impl<T> List<T> {
    pub fn add(&mut self, id: &str, raw: T, at: EntryRef) {
        match self.entries.entry(id.to_owned()) {
            indexmap::map::Entry::Occupied(_) => self.again.push((id.to_owned(), at)),
            indexmap::map::Entry::Vacant(vacant) => {
                vacant.insert(Found { raw, at });
            }
        }
    }

    pub fn add_broken(&mut self, id: Option<&str>) {
        self.broken.extend(id.map(str::to_owned));
        self.torn = true;
    }

    pub fn iter(&self) -> impl Iterator<Item = &Found<T>> {
        self.entries.values()
    }

    pub fn knows(&self, id: &str) -> bool {
        self.entries.contains_key(id) || self.broken.contains(id)
    }

    fn refuse_duplicates(&self, docs: &Docs, sink: &mut Sink) {
        for (id, at) in &self.again {
            if let Some(first) = self.entries.get(id) {
                let mut found = Diagnostic::new(Code::DuplicateId, id_place(docs, *at), twice(id))
                    .help("Give one of them another id, or remove it.");
                found = found.related(id_place(docs, first.at), "it stands here first");
                sink.push(found);
            }
        }
    }

    fn lay_over(&mut self, over: List<T>) {
        for (id, found) in over.entries {
            self.entries.insert(id, found);
        }
        self.broken.extend(over.broken);
        self.torn |= over.torn;
    }

    fn ids<'a>(&'a self, into: &mut Vec<(&'a str, EntryRef)>) {
        into.extend(self.entries.iter().map(|(id, found)| (id.as_str(), found.at)));
    }
}

fn twice(id: &str) -> String {
    format!("the id {} stands here a second time", quoted(id))
}

fn id_place(docs: &Docs, at: EntryRef) -> super::source::Place {
    docs.place(&Trail::Entry(at).key("id"))
}

/// Declares the lists once for all that has to be done with each of them.
macro_rules! lists {
    ($($field:ident: $type:ty,)*) => {
        /// Everything that was read.
        #[derive(Debug, Default)]
        pub struct Draft {
            $(pub $field: List<$type>,)*
            pub shop: Option<Found<RawShop>>,
            /// A second `shop` in the same layer.
            shops_again: Vec<EntryRef>,
            /// Whether the mapping `shop` was there but could not be read.
            pub shop_torn: bool,
        }

        impl Draft {
            /// Reports ids that two entries of the same list have.
            pub fn refuse_duplicates(&self, docs: &Docs, sink: &mut Sink) {
                $(self.$field.refuse_duplicates(docs, sink);)*
                for at in &self.shops_again {
                    let message = "the mapping `shop` stands here a second time";
                    let mut found = Diagnostic::new(Code::DuplicateId, docs.place(&Trail::Entry(*at)), message);
                    if let Some(first) = &self.shop {
                        found = found.related(docs.place(&Trail::Entry(first.at)), "it stands here first");
                    }
                    sink.push(found.help("Keep one of them."));
                }
            }

            /// Lays a later layer over this one.
            pub fn lay_over(&mut self, over: Draft) {
                $(self.$field.lay_over(over.$field);)*
                self.shop_torn |= over.shop_torn;
                self.shop = over.shop.or(self.shop.take());
            }

            /// Notes that a file could not be read: nothing that seems absent is then called so, and the ids
            /// that its text seems to give are taken as known.
            pub fn lost_file(&mut self, text: &str) {
                let ids: Vec<&str> = (text.lines())
                    .filter_map(|line| {
                        let line = line.trim_start().trim_start_matches(['-', '{', ' ']);
                        line.strip_prefix("id:")?.trim_start().split([' ', ',', '}']).next()
                    })
                    .take(MOST_LOST)
                    .collect();
                $(
                    self.$field.torn = true;
                    self.$field.broken.extend(ids.iter().map(|id| (*id).to_owned()));
                )*
                self.shop_torn = true;
            }

            /// Every id with the place of its entry, list by list.
            fn all_ids(&self) -> Vec<(&str, EntryRef)> {
                let mut ids = Vec::new();
                $(self.$field.ids(&mut ids);)*
                ids
            }
        }
    };
}

lists! {
    stages: RawStage,
    sources: RawSource,
    cautions: RawCaution,
    factors: RawFactor,
    faults: RawFault,
    observations: RawObservation,
    readings: RawReading,
    repairs: RawRepair,
    scopes: RawScope,
    motors: RawMotor,
    measurements: RawMeasurement,
    topics: RawTopic,
    lessons: RawLesson,
    courses: RawCourse,
    physics: RawPhysics,
    looks: RawLook,
}

impl Draft {
    pub fn add_shop(&mut self, raw: RawShop, at: EntryRef) {
        if self.shop.is_some() {
            self.shops_again.push(at);
        } else {
            self.shop = Some(Found { raw, at });
        }
    }

    /// Reports ids that entries of two different lists have. A reading may share the id of the
    /// observation that it bands when it bands only that one.
    pub fn refuse_shared_ids(&self, docs: &Docs, sink: &mut Sink) {
        let mut seen: HashMap<&str, EntryRef> = HashMap::new();
        // Measurements, lessons and their topics are called by commands of their own, and may be named like
        // what they are about. Physics has the id of what it is the physics of.
        const CALLED: [&str; 5] = ["measurements", "topics", "lessons", "courses", "physics"];
        for (id, at) in self.all_ids().into_iter().filter(|(_, at)| !CALLED.contains(&at.section)) {
            let Some(first) = seen.get(id) else {
                seen.insert(id, at);
                continue;
            };
            let bands_it_alone = first.section == "observations"
                && (self.readings.entries.get(id)).is_some_and(|r| {
                    r.at == at && r.raw.bands.len() == 1 && r.raw.bands[0].observation == id
                });
            if !bands_it_alone {
                let message = format!(
                    "the id {} stands here, under {}, and under {}",
                    quoted(id),
                    at.section,
                    first.section
                );
                sink.push(
                    Diagnostic::new(Code::DuplicateId, id_place(docs, at), message)
                        .related(id_place(docs, *first), "the other one")
                        .help("An id has to be the only one of its name; only a reading may have the id of the one observation it bands."),
                );
            }
        }
    }
}
