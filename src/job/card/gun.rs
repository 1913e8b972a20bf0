//! How the gun was set up for a card: the car is to be sprayed the same way.

use crate::units::clean;
use serde::{Deserialize, Serialize};

/// A gun's set-up, in the painter's own words and units; what was not said is left out.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gun {
    /// The fluid tip: `1.3 mm`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip: Option<String>,
    /// The pressure at the gun: `2.0 bar`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure: Option<String>,
    /// How far the fan is open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fan: Option<String>,
    /// How far from the panel: `15 cm`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance: Option<String>,
}

const EXPECTED: &str =
    "one of tip=, pressure=, fan= and distance= was expected, as \"tip=1.3 mm, pressure=2 bar\"";

impl Gun {
    /// Whether nothing is said of it.
    pub const fn is_empty(&self) -> bool {
        self.tip.is_none() && self.pressure.is_none() && self.fan.is_none() && self.distance.is_none()
    }

    /// Reads `tip=1.3 mm, pressure=2 bar, fan=open, distance=15 cm`. A comma without a word and `=` behind it belongs to
    /// what was said: `tip=1,3 mm`.
    ///
    /// # Errors
    /// What was expected.
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut parts: Vec<String> = Vec::new();
        for part in text.split(',') {
            match parts.last_mut() {
                Some(last) if !part.contains('=') => {
                    last.push(',');
                    last.push_str(part);
                }
                _ => parts.push(part.to_owned()),
            }
        }
        let mut gun = Self::default();
        for part in &parts {
            let (key, value) =
                part.split_once('=').ok_or_else(|| format!("'{}': {EXPECTED}", part.trim()))?;
            let (key, value) = (key.trim().to_lowercase(), clean(value).trim().to_owned());
            let place = match key.as_str() {
                "tip" => &mut gun.tip,
                "pressure" => &mut gun.pressure,
                "fan" => &mut gun.fan,
                "distance" => &mut gun.distance,
                _ => return Err(format!("'{key}': {EXPECTED}")),
            };
            if value.is_empty() {
                return Err(format!("{key}: nothing is said after ="));
            }
            if place.is_some() {
                return Err(format!("{key} is said twice"));
            }
            *place = Some(value);
        }
        Ok(gun)
    }

    /// For a person: `tip 1.3 mm, pressure 2 bar`.
    pub fn words(&self) -> String {
        let said = [
            ("tip", &self.tip),
            ("pressure", &self.pressure),
            ("fan", &self.fan),
            ("distance", &self.distance),
        ];
        let said: Vec<String> =
            said.iter().filter_map(|(name, said)| Some(format!("{name} {}", said.as_ref()?))).collect();
        said.join(", ")
    }

    /// Whether both say something of the same thing, and not the same.
    pub(super) fn differs(&self, other: &Self) -> bool {
        let pairs = [
            (&self.tip, &other.tip),
            (&self.pressure, &other.pressure),
            (&self.fan, &other.fan),
            (&self.distance, &other.distance),
        ];
        pairs.into_iter().any(|(one, two)| differ(one.as_deref(), two.as_deref()))
    }
}

/// Whether both are said, and not the same, in whatever case.
pub(super) fn differ(one: Option<&str>, two: Option<&str>) -> bool {
    one.zip(two).is_some_and(|(one, two)| one.trim().to_lowercase() != two.trim().to_lowercase())
}
