//! Problems in the knowledge: what, where, and what would be right.

use super::source::Place;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The knowledge cannot be used.
    Error,
    /// The knowledge can be used, but something in it is probably not as it was meant.
    Warning,
}

impl Severity {
    /// The word for it in messages.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
        }
    }
}

/// Declares the codes, so that each has its number, usual severity and description in one line.
macro_rules! codes {
    ($($name:ident $id:literal $severity:ident $description:literal;)*) => {
        /// The kind of a problem.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code { $(#[doc = $description] $name,)* }

        impl Code {
            /// All codes, in the order of their numbers.
            pub const ALL: &'static [Code] = &[$(Code::$name,)*];

            /// Its number, such as `K012`; never changes its meaning.
            pub fn id(self) -> &'static str {
                match self { $(Code::$name => $id,)* }
            }

            /// What it means, in a line.
            pub fn description(self) -> &'static str {
                match self { $(Code::$name => $description,)* }
            }

            /// How bad it is, unless a check has reason to say otherwise.
            pub fn severity(self) -> Severity {
                match self { $(Code::$name => Severity::$severity,)* }
            }
        }
    };
}

codes! {
    Unreadable "K001" Error "A file or folder cannot be read.";
    Characters "K002" Error "A file is not plain UTF-8 text without tabs and control characters.";
    TooMuch "K003" Error "A file is too large or too deeply nested, or a folder has too many files.";
    Syntax "K004" Error "A file is not YAML, or holds several documents.";
    Forbidden "K005" Error "A file uses YAML that the format does not allow: anchors, aliases, tags, compound keys.";
    DuplicateKey "K006" Error "A mapping has the same key twice.";
    Format "K007" Error "The format line is missing or names a format that this program does not know.";
    Shape "K008" Error "An entry has an unknown key, lacks a key, or has a value of the wrong type.";
    BadId "K009" Error "An id is not made of lower-case words joined by hyphens.";
    DuplicateId "K010" Error "Two entries have the same id.";
    UnknownId "K011" Error "An id is named that no entry has.";
    UnknownState "K012" Error "A state is named that the question does not have.";
    Repeated "K013" Error "Something is said twice.";
    Unfitting "K014" Error "Keys contradict each other, or one lacks its partner.";
    Chance "K015" Error "A chance is not a number from 0 to 1 nor a word of the scale.";
    EffectSum "K016" Error "The chances of one effect sum to more than 1.";
    PriorSum "K017" Error "The priors of a factor do not sum to 1.";
    LeakSum "K018" Error "The leaks of an observation sum to more than 1.";
    Number "K019" Error "A number is out of its range.";
    NoWording "K020" Error "A text that people read is empty.";
    Basis "K021" Error "A number has no basis, or one that is not known.";
    Circle "K022" Error "Faults cause each other in a circle.";
    NoObservation "K023" Error "A fault shows itself in no observation.";
    NoRepair "K024" Error "No repair removes a fault.";
    NoScope "K025" Error "No scope of work removes a fault.";
    NoCause "K026" Error "No fault and no factor can cause an observation.";
    DeadState "K027" Warning "Nothing can bring about a state of an observation.";
    NoCaution "K028" Error "A repair does not give the cautions that its stage calls for.";
    Alike "K029" Error "No observation can tell two faults apart.";
    Quantity "K030" Error "A text is not a quantity of the kind that is wanted.";
    Bands "K031" Error "The edges of a band do not go from mild to worse.";
    StageOrder "K032" Error "A last stage comes before the first.";
    NeverAsked "K033" Error "A question can never be asked.";
    Phrase "K034" Warning "A phrase stands for two different answers.";
    NoNominal "K035" Warning "A motor lacks a nominal value that a reading is compared with.";
    Idle "K036" Warning "An entry is there, but nothing uses it.";
    TooFewStates "K037" Error "A question has fewer than two states.";
    NoProcedure "K038" Error "A repair has no steps, or no check that proves that it worked.";
    Incomplete "K039" Error "The knowledge as a whole lacks a list that it cannot do without.";
    More "K040" Error "There are more problems than are listed.";
    Look "K041" Error "The observations of a look cannot be had together.";
}

/// A second place that belongs to a problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Related {
    /// Where.
    pub place: Place,
    /// What is there.
    pub label: String,
}

/// A problem in the knowledge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Its kind.
    pub code: Code,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, without a full stop.
    pub message: String,
    /// Where.
    pub place: Place,
    /// Other places that belong to it.
    pub related: Vec<Related>,
    /// What would be right, in one or two sentences.
    pub help: Option<String>,
}

impl Diagnostic {
    pub(super) fn new(code: Code, place: Place, message: impl Into<String>) -> Diagnostic {
        Diagnostic {
            code,
            severity: code.severity(),
            message: message.into(),
            place,
            related: Vec::new(),
            help: None,
        }
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> Diagnostic {
        self.help = Some(help.into());
        self
    }

    pub(super) fn maybe_help(mut self, help: Option<String>) -> Diagnostic {
        self.help = help.or(self.help);
        self
    }

    pub(super) fn related(mut self, place: Place, label: impl Into<String>) -> Diagnostic {
        self.related.push(Related { place, label: label.into() });
        self
    }

    pub(super) fn warning(mut self) -> Diagnostic {
        self.severity = Severity::Warning;
        self
    }
}

/// Collects problems, up to a limit that keeps a hostile file from filling the screen and the memory.
#[derive(Debug, Default)]
pub struct Sink {
    found: Vec<Diagnostic>,
    left_out: usize,
    errors: bool,
}

impl Sink {
    const MOST: usize = 300;

    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.errors |= diagnostic.severity == Severity::Error;
        if self.is_full() {
            self.left_out += 1;
        } else {
            self.found.push(diagnostic);
        }
    }

    /// How many problems there were so far.
    pub fn count(&self) -> usize {
        self.found.len() + self.left_out
    }

    /// Counts something that was not looked at because the list is full.
    pub fn skip(&mut self) {
        self.left_out += 1;
    }

    pub fn is_full(&self) -> bool {
        self.found.len() >= Self::MOST
    }

    /// The problems in the order of files and lines, and whether any is an error.
    pub fn finish(mut self) -> (Vec<Diagnostic>, bool) {
        self.found.sort_by_key(|found| (found.place, found.code));
        // What has the wrong shape was replaced to read on: what is said of that is nothing that anybody wrote.
        let shapes: Vec<Place> =
            (self.found.iter()).filter(|f| f.code == Code::Shape).map(|f| f.place).collect();
        self.found.retain(|f| f.code == Code::Shape || shapes.binary_search(&f.place).is_err());
        if self.left_out > 0
            && let Some(last) = self.found.last()
        {
            let message = format!("{} more problems or unread entries are not listed", self.left_out);
            let more =
                Diagnostic::new(Code::More, last.place, message).help("Mend these first, then check again.");
            self.found.push(more);
        }
        (self.found, self.errors)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_numbered_in_order_and_described_in_a_line() {
        for (i, code) in Code::ALL.iter().enumerate() {
            assert_eq!(code.id(), format!("K{:03}", i + 1));
            let text = code.description();
            assert!(text.ends_with('.') && text.len() < 100 && !text.contains('\n'), "{text}");
        }
    }
}
