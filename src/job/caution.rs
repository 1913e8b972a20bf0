//! The cautions that paint asks for: which of them a mix wants, each with its source and how well it is known.
//!
//! They stand beside what the product's own data sheet says, never instead of it.

use super::Known;

/// What is known of a mix, as its products' entries say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CautionFlags {
    /// There are isocyanates in it: a hardener most often.
    pub isocyanates: bool,
    /// It burns.
    pub flammable: bool,
    /// There are compounds of chromium, lead, manganese, nickel or cadmium in it.
    pub target_hap: bool,
}

/// What is done with a mix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// It is mixed.
    Mixing,
    /// It is mixed and sprayed.
    Spraying,
}

/// A caution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caution {
    /// What it is of, in a word.
    pub topic: &'static str,
    /// What to do.
    pub says: &'static str,
    /// Who says so.
    pub source: &'static str,
    /// How well that is known.
    pub known: Known,
    of: Of,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Of {
    Isocyanates,
    SprayedIsocyanates,
    Flammable,
    SprayedFlammable,
    TargetHap,
}

const fn caution(
    of: Of,
    topic: &'static str,
    says: &'static str,
    source: &'static str,
    known: Known,
) -> Caution {
    Caution { topic, says, source, known, of }
}

/// In the order in which they are shown: what hurts first.
const ALL: [Caution; 18] = [
    caution(
        Of::Isocyanates,
        "isocyanates",
        "Contains isocyanates, which make lungs allergic. Gloves and eye protection already while mixing",
        "EH40 calls them respiratory sensitisers; gloves and eyes: common practice, no source",
        Known::SecondHand,
    ),
    caution(
        Of::SprayedIsocyanates,
        "breathing",
        "Only air-fed breathing apparatus protects who sprays; a filter mask gives no warning when it is used up",
        "OSHA letter of 1996-06-13 (archived); HSE guidance by way of a trade page",
        Known::SecondHand,
    ),
    caution(
        Of::SprayedIsocyanates,
        "visor",
        "Visor down and on air until the booth is clear: do not lift it to look at the finish, nor leave in the mist",
        "HSE guidance on spray booths, in a copy",
        Known::SecondHand,
    ),
    caution(
        Of::SprayedIsocyanates,
        "clearance",
        "Wait the booth's own clearance time, measured with smoke and shown at its door: over 1 minute even in an efficient booth, up to half an hour in a room",
        "HSE, clearance time and myth 5 (read); COSHH sheet MR2 (read); the half hour from a copy of HSE's text",
        Known::SecondHand,
    ),
    caution(
        Of::SprayedIsocyanates,
        "health",
        "Health surveillance, and urine tests that show whether the protection works",
        "HSE, foi/internalops/sims/manuf/3_12_01; COSHH sheet MR2",
        Known::Read,
    ),
    caution(
        Of::Isocyanates,
        "training",
        "EU: from 24 August 2023 only after training, unless diisocyanates are below 0.1 % by weight; again every five years at least",
        "Regulation (EU) 2020/1149, REACH annex XVII entry 74, as the Luxembourg helpdesk tells it",
        Known::SecondHand,
    ),
    caution(
        Of::SprayedIsocyanates,
        "limits",
        "UK limits, as -NCO: 0.02 mg/m3 over 8 hours, 0.07 mg/m3 over 15 minutes",
        "EH40; the 15 minutes read in a study of 25 shops (CDC stacks 33694)",
        Known::SecondHand,
    ),
    caution(
        Of::Flammable,
        "bonding",
        "Bond can and container to each other before pouring from one into the other, if its flash point is below 100 °F (38 °C)",
        "29 CFR 1910.106(e)(6)(ii)",
        Known::SecondHand,
    ),
    caution(
        Of::Flammable,
        "cover",
        "Keep it covered when it is not in use, and no spark or flame where its vapour goes",
        "29 CFR 1910.106(e)(2)(iv)",
        Known::SecondHand,
    ),
    caution(
        Of::Flammable,
        "scale",
        "Electrical gear in the mixing room must suit its zone: a plain scale and computer may have to stand outside it",
        "from memory",
        Known::Memory,
    ),
    caution(
        Of::Flammable,
        "amounts",
        "At the spraying area no more than a day or shift needs; mix in a mixing room, or in the spraying area with its ventilation on; no open or glass containers",
        "29 CFR 1910.107(e)",
        Known::Read,
    ),
    caution(
        Of::Flammable,
        "rags",
        "Rags with paint or solvent into a metal waste can at once; empty it daily or each shift",
        "29 CFR 1910.107(g)(3), as WAC 296-24-37013(3)",
        Known::Read,
    ),
    caution(
        Of::SprayedFlammable,
        "filters",
        "Used booth filters out at once to a safe detached place, or into a metal container filled with water",
        "29 CFR 1910.107(b)(5)(ii)",
        Known::Read,
    ),
    caution(
        Of::SprayedFlammable,
        "residues",
        "Do not spray, one after the other, paints whose residues together can ignite by themselves, unless booth and ducts are cleaned between",
        "29 CFR 1910.107(g)(6), as WAC 296-24-37013(6)",
        Known::Read,
    ),
    caution(
        Of::Flammable,
        "smoking",
        "No smoking, and a sign that says so, where paint is sprayed or stored",
        "29 CFR 1910.107(g)(7), as WAC 296-24-37013(7)",
        Known::Read,
    ),
    caution(
        Of::TargetHap,
        "metals",
        "Compounds of chromium, lead, manganese, nickel or cadmium: US shops spray it in a booth with filters that hold 98 % of overspray",
        "40 CFR 63 subpart HHHHHH, as the Iowa Waste Reduction Center tells it",
        Known::SecondHand,
    ),
    caution(
        Of::TargetHap,
        "gun",
        "US: HVLP, electrostatic, airless or air-assisted airless guns; clean them without making a mist of the solvent",
        "40 CFR 63.11177(c) (read); cleaning as the Iowa Waste Reduction Center tells it",
        Known::SecondHand,
    ),
    caution(
        Of::TargetHap,
        "painters",
        "US: only trained painters spray it; `pourbook voc --records` lists what has to be kept",
        "40 CFR 63.11177(a)",
        Known::Read,
    ),
];

/// The cautions that such a mix wants.
pub fn cautions(hazards: CautionFlags, doing: Doing) -> impl Iterator<Item = &'static Caution> {
    let sprayed = doing == Doing::Spraying;
    ALL.iter().filter(move |caution| match caution.of {
        Of::Isocyanates => hazards.isocyanates,
        Of::SprayedIsocyanates => hazards.isocyanates && sprayed,
        Of::Flammable => hazards.flammable,
        Of::SprayedFlammable => hazards.flammable && sprayed,
        Of::TargetHap => hazards.target_hap,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn topics(hazards: CautionFlags, doing: Doing) -> Vec<&'static str> {
        cautions(hazards, doing).map(|caution| caution.topic).collect()
    }

    #[test]
    fn a_mix_has_the_cautions_of_what_is_in_it() {
        assert!(topics(CautionFlags::default(), Doing::Spraying).is_empty());
        let isocyanates = CautionFlags { isocyanates: true, ..CautionFlags::default() };
        assert_eq!(topics(isocyanates, Doing::Mixing), ["isocyanates", "training"]);
        let spraying = topics(isocyanates, Doing::Spraying);
        for topic in ["isocyanates", "breathing", "visor", "clearance"] {
            assert!(spraying.contains(&topic), "{topic}");
        }
        let flammable = topics(CautionFlags { flammable: true, ..CautionFlags::default() }, Doing::Spraying);
        for topic in ["bonding", "cover", "rags", "filters"] {
            assert!(flammable.contains(&topic), "{topic}");
        }
        assert!(!flammable.contains(&"breathing"));
        let metals = CautionFlags { target_hap: true, ..CautionFlags::default() };
        assert_eq!(topics(metals, Doing::Mixing), ["metals", "gun", "painters"]);
    }

    #[test]
    fn what_is_from_memory_says_so() {
        for caution in &ALL {
            assert_eq!(caution.known == Known::Memory, caution.source == "from memory", "{}", caution.topic);
            assert!(!caution.says.ends_with('.'), "{}", caution.topic);
        }
        let all = CautionFlags { isocyanates: true, flammable: true, target_hap: true };
        assert_eq!(cautions(all, Doing::Spraying).count(), ALL.len(), "each is for some mix");
    }
}
