//! What a typed line means.

use crate::present::text::clean;

use super::{Prompt, Refusal, Reply, Side};

impl Prompt {
    /// The reply that a typed line is: the key of a side action, the number of a choice, the id or the
    /// label of a choice or side action, the wanted text, or the beginning of a label. Where several may be
    /// chosen: numbers with blanks or commas between them; nothing or 0 for none; with the key for what is
    /// not known among them, the rest is not known.
    ///
    /// # Errors
    /// What would be right, when the line is none of these.
    pub fn understand(&self, typed: &str) -> Result<Reply, Refusal> {
        let typed = typed.trim();
        let said = plain(typed);
        let Some(several) = &self.several else { return self.understand_one(typed, &said) };
        if said.is_empty() || said == "0" || said == plain(&several.none) {
            return self.together(Vec::new(), false);
        }
        if let Some((chosen, unsure)) = self.listed(&said) {
            return self.together(chosen, unsure);
        }
        match self.understand_one(typed, &said)? {
            Reply::Choice(i) => self.together(vec![i], false),
            Reply::Side(Side::Unknown) => self.together(Vec::new(), true),
            other => Ok(other),
        }
    }

    /// Numbers of choices with blanks or commas between them; among them the key for what is not known.
    fn listed(&self, said: &str) -> Option<(Vec<usize>, bool)> {
        let mut chosen = Vec::new();
        let mut unsure = false;
        for word in said.split([' ', ',', ';']).filter(|w| !w.is_empty()) {
            let number = word.parse::<usize>().ok().filter(|n| (1..=self.choices.len()).contains(n));
            match number {
                Some(n) => chosen.push(n - 1),
                None if word == Side::Unknown.key().to_string() && self.side.contains(&Side::Unknown) => {
                    unsure = true;
                }
                None => return None,
            }
        }
        Some((chosen, unsure))
    }

    /// The reply that these choices are together.
    ///
    /// # Errors
    /// When two of them are about the same thing.
    pub fn together(&self, mut chosen: Vec<usize>, unsure: bool) -> Result<Reply, Refusal> {
        chosen.sort_unstable();
        chosen.dedup();
        let about = |i: usize| self.several.as_ref().and_then(|s| s.about.get(i));
        for pair in chosen.windows(2) {
            if about(pair[0]).is_some() && about(pair[0]) == about(pair[1]) {
                let (one, other) = (&self.choices[pair[0]].label, &self.choices[pair[1]].label);
                return Err(format!(
                    "“{one}” and “{other}” can’t both be so. Take the one that fits better."
                ));
            }
        }
        Ok(Reply::Several { chosen, unsure })
    }

    fn understand_one(&self, typed: &str, said: &str) -> Result<Reply, Refusal> {
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
            Some(wanted) => match (wanted.check)(typed) {
                Ok(()) => Ok(Reply::Text(typed.to_string())),
                // What is no reading may be the beginning of a reply; what is no name has been looked for.
                Err(why) if wanted.names.is_empty() => self.beginning(typed, said).map_err(|_| why),
                Err(why) => Err(why),
            },
            None => self.beginning(typed, said),
        }
    }

    /// The reply that a line is which was typed into a field of its own, where no numbers stand: the wanted
    /// text before all, so that a number is a figure and no choice.
    ///
    /// # Errors
    /// What would be right.
    pub fn entered(&self, typed: &str) -> Result<Reply, Refusal> {
        let typed = typed.trim();
        let said = plain(typed);
        let Some(wanted) = &self.text else { return self.understand(typed) };
        if said.is_empty() {
            return Err(format!("Type {}. Esc shows what else can be done.", wanted.hint));
        }
        if let Some(side) = self.sides().find(|s| said == s.key().to_string() || said == plain(s.label())) {
            return Ok(Reply::Side(side));
        }
        match (wanted.check)(typed) {
            Ok(()) => Ok(Reply::Text(typed.to_owned())),
            Err(why) if typed.parse::<f64>().is_ok() => Err(why),
            Err(why) => self.understand(typed).map_err(|_| why),
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
            [] => Err(format!("“{}” is none of the replies. {}", shown(typed), self.offer())),
            [(a, _), (b, _), ..] => {
                Err(format!("“{}” may mean “{a}” or “{b}”. Type more of it, or its number.", shown(typed)))
            }
        }
    }

    /// What may be typed.
    fn offer(&self) -> String {
        let mut ways = Vec::new();
        match self.choices.len() {
            0 => (),
            1 => ways.push("1".to_string()),
            n if self.several.is_none() => ways.push(format!("a number from 1 to {n}")),
            n => ways.push(format!("one or more numbers from 1 to {n}")),
        }
        if let Some(several) = &self.several {
            ways.push(format!("0 for “{}”", several.none));
        }
        if let Some(wanted) = &self.text {
            ways.push(wanted.hint.clone());
        }
        let keys: Vec<String> = self.sides().map(|s| s.key().to_string()).collect();
        match keys.as_slice() {
            [] => (),
            [one] => ways.push(format!("the key {one}")),
            some => ways.push(format!("one of the keys {}", some.join(" "))),
        }
        format!("Type {}.", ways.join(", or "))
    }
}

/// What was typed, for a message: no longer than half a line.
fn shown(typed: &str) -> String {
    const LONGEST: usize = 40;
    cut(typed, LONGEST)
}

/// A text neutralised and cut to so many characters.
pub(in crate::cli) fn cut(text: &str, longest: usize) -> String {
    match text.char_indices().nth(longest) {
        Some((end, _)) => clean(&text[..end]) + " ...",
        None => clean(text),
    }
}

/// Letters and signs that count when two texts are compared.
fn plain(text: &str) -> String {
    let text = text.trim().to_lowercase().replace(['\'', '’'], "");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::{Choice, Several, TextWanted};
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

    fn look() -> Prompt {
        let several = Several { none: "All as it should be".into(), about: vec![0, 0, 1] };
        let choices = vec![
            Choice::new("dirt=filmed", "Dirt: filmed"),
            Choice::new("dirt=packed", "Dirt: packed"),
            Choice::new("glaze=yes", "Glaze: shiny"),
        ];
        Prompt { choices, several: Some(several), ..power() }
    }

    #[test]
    fn several_may_be_chosen() {
        let several = |chosen: &[usize], unsure| Ok(Reply::Several { chosen: chosen.to_vec(), unsure });
        for (typed, reply) in [
            ("", several(&[], false)),
            ("0", several(&[], false)),
            ("all as it should be", several(&[], false)),
            ("3 1", several(&[0, 2], false)),
            ("2,3", several(&[1, 2], false)),
            ("2, 2", several(&[1], false)),
            ("3 d", several(&[2], true)),
            ("d", several(&[], true)),
            ("don't know", several(&[], true)),
            ("glaze=yes", several(&[2], false)),
            ("gl", several(&[2], false)),
            ("?", Ok(Reply::Side(Side::Why))),
            (
                "1 2",
                Err("“Dirt: filmed” and “Dirt: packed” can’t both be so. Take the one that fits better.".into()),
            ),
            (
                "1 7",
                Err("“1 7” is none of the replies. Type one or more numbers from 1 to 3, or 0 for “All as it \
                     should be”, or one of the keys d ? q."
                    .into()),
            ),
        ] {
            assert_eq!(look().understand(typed), reply, "{typed}");
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
        assert_eq!(
            current().understand("som"),
            Ok(Reply::Choice(1)),
            "no reading, but the beginning of a reply"
        );
        assert_eq!(current().understand("s"), Err("Give it in ampere, such as 2.4 A.".into()));
        let entered = |typed: &str| current().entered(typed);
        assert_eq!(entered("2"), Err("Give it in ampere, such as 2.4 A.".into()), "no number of a list");
        assert_eq!(entered("2.4 A"), Ok(Reply::Text("2.4 A".into())));
        assert_eq!(entered("d"), Ok(Reply::Side(Side::Unknown)));
        assert_eq!(entered("severe"), Ok(Reply::Choice(2)));
        assert_eq!(
            entered(" "),
            Err("Type a reading, such as 2.4 A. Esc shows what else can be done.".into())
        );
        let names = TextWanted::name("a name", vec!["Sand".into()], |_| Err("Which?".into()));
        let part = Prompt { text: Some(names), ..power() };
        assert_eq!(part.understand("sev"), Err("Which?".into()), "other names may begin so too");
        assert_eq!(part.understand("3"), Ok(Reply::Choice(2)));
        let long = "x".repeat(10_000);
        let refused = power().understand(&long).expect_err("no reply is so long");
        assert!(refused.starts_with("“xxx") && refused.len() < 160, "{refused}");
        let why = "Type a number from 1 to 3, or a reading, such as 2.4 A, or one of the keys d ? q.";
        assert_eq!(current().understand(" "), Err(why.to_string()));
    }
}
