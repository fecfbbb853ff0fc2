//! What a typed line means.

use crate::present::text::clean;

use super::{Prompt, Refusal, Reply, Side};

impl Prompt {
    /// The reply that a typed line is: the key of a side action, the number of a choice, the id or the
    /// beginning of the label of a choice or side action, or the wanted text.
    ///
    /// # Errors
    /// What would be right, when the line is none of these.
    pub fn understand(&self, typed: &str) -> Result<Reply, Refusal> {
        let typed = typed.trim();
        let said = plain(typed);
        if said.is_empty() {
            return Err(self.offer());
        }
        if let Some(side) = self.sides().find(|s| said == s.key().to_string() || said == plain(s.label())) {
            return Ok(Reply::Side(side));
        }
        if said == "unknown" && self.side.contains(&Side::Unknown) {
            return Ok(Reply::Side(Side::Unknown));
        }
        if let Some(n) = typed.parse::<usize>().ok().filter(|n| (1..=self.choices.len()).contains(n)) {
            return Ok(Reply::Choice(n - 1));
        }
        if let Some(i) = self.choices.iter().position(|c| said == plain(&c.id) || said == plain(&c.label)) {
            return Ok(Reply::Choice(i));
        }
        match &self.text {
            Some(wanted) => (wanted.check)(typed).map(|()| Reply::Text(typed.to_string())),
            None => self.beginning(typed, &said),
        }
    }

    /// The one choice or side action that begins like this.
    fn beginning(&self, typed: &str, said: &str) -> Result<Reply, Refusal> {
        let choices = self.choices.iter().enumerate();
        let fits: Vec<(String, Reply)> = choices
            .filter(|(_, c)| plain(&c.label).starts_with(said) || plain(&c.id).starts_with(said))
            .map(|(i, c)| (c.label.clone(), Reply::Choice(i)))
            .chain(
                self.sides()
                    .filter(|s| plain(s.label()).starts_with(said))
                    .map(|s| (s.label().to_string(), Reply::Side(s))),
            )
            .collect();
        match fits.as_slice() {
            [(_, reply)] => Ok(reply.clone()),
            [] => Err(format!("“{}” is none of the replies. {}", clean(typed), self.offer())),
            [(a, _), (b, _), ..] => {
                Err(format!("“{}” may mean “{a}” or “{b}”. Type more of it, or its number.", clean(typed)))
            }
        }
    }

    /// What may be typed.
    fn offer(&self) -> String {
        let mut ways = Vec::new();
        match self.choices.len() {
            0 => (),
            1 => ways.push("1".to_string()),
            n => ways.push(format!("a number from 1 to {n}")),
        }
        if let Some(wanted) = &self.text {
            ways.push(wanted.hint.clone());
        }
        let keys: Vec<String> = self.sides().map(|s| s.key().to_string()).collect();
        if !keys.is_empty() {
            ways.push(format!("one of the keys {}", keys.join(" ")));
        }
        format!("Type {}.", ways.join(", or "))
    }
}

/// Letters and signs that count when two texts are compared.
fn plain(text: &str) -> String {
    let text = text.trim().to_lowercase().replace(['\'', '’'], "");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::{Choice, TextWanted};
    use super::*;

    fn power() -> Prompt {
        Prompt {
            id: "power-loss".into(),
            question: "How much power has the motor lost?".into(),
            choices: vec![
                Choice::new("none", "None: full power"),
                Choice::new("some", "Some: noticeably weaker"),
                Choice::new("severe", "Severe: hardly moves"),
            ],
            side: vec![Side::Stop, Side::Unknown, Side::Why],
            ..Prompt::default()
        }
    }

    fn current() -> Prompt {
        let check = |t: &str| match t.ends_with('A') {
            true => Ok(()),
            false => Err("Give it in ampere, such as 2.4 A.".into()),
        };
        Prompt { text: Some(TextWanted::checked("a reading, such as 2.4 A", check)), ..power() }
    }

    #[test]
    fn replies_of_every_kind() {
        for (typed, reply) in [
            ("2", Reply::Choice(1)),
            (" 2 ", Reply::Choice(1)),
            ("severe", Reply::Choice(2)),
            ("SEVERE: hardly  moves", Reply::Choice(2)),
            ("n", Reply::Choice(0)),
            ("som", Reply::Choice(1)),
            ("?", Reply::Side(Side::Why)),
            ("D", Reply::Side(Side::Unknown)),
            ("don’t know", Reply::Side(Side::Unknown)),
            ("unknown", Reply::Side(Side::Unknown)),
            ("stop", Reply::Side(Side::Stop)),
        ] {
            assert_eq!(power().understand(typed), Ok(reply), "{typed}");
        }
    }

    #[test]
    fn refusals_say_what_would_be_right() {
        for (typed, why) in [
            ("", "Type a number from 1 to 3, or one of the keys d ? q."),
            ("0", "“0” is none of the replies. Type a number from 1 to 3, or one of the keys d ? q."),
            ("4", "“4” is none of the replies. Type a number from 1 to 3, or one of the keys d ? q."),
            ("b", "“b” is none of the replies. Type a number from 1 to 3, or one of the keys d ? q."),
            ("se\x1b", "“se^[” is none of the replies. Type a number from 1 to 3, or one of the keys d ? q."),
            (
                "s",
                "“s” may mean “Some: noticeably weaker” or “Severe: hardly moves”. Type more of it, or its number.",
            ),
        ] {
            assert_eq!(power().understand(typed), Err(why.to_string()), "{typed}");
        }
    }

    #[test]
    fn a_text_is_taken_when_wanted_and_right() {
        assert_eq!(current().understand(" 2.4 A "), Ok(Reply::Text("2.4 A".into())));
        assert_eq!(current().understand("2"), Ok(Reply::Choice(1)));
        assert_eq!(current().understand("7"), Err("Give it in ampere, such as 2.4 A.".into()));
        assert_eq!(current().understand("q"), Ok(Reply::Side(Side::Stop)));
        assert_eq!(current().understand("sA"), Ok(Reply::Text("sA".into())));
        let why = "Type a number from 1 to 3, or a reading, such as 2.4 A, or one of the keys d ? q.";
        assert_eq!(current().understand(" "), Err(why.to_string()));
    }
}
