//! Everyday names of the two crops in each language, beside whatever names the farm gives its crops.

use super::tokens::folded;
use super::{CropWords, Language};

/// Folded names of one crop, each one or several words.
pub(super) fn names(language: Language, crop: &CropWords) -> Vec<String> {
    let mut names: Vec<String> = crop.words.iter().map(|name| folded(name)).collect();
    names.push(folded(&crop.key));
    for name in names.clone() {
        // Both plurals in -s; Polish farms list their own forms.
        if language != Language::Polish && !name.ends_with('s') {
            names.push(format!("{name}s"));
        }
    }
    names.extend(builtin(language, &crop.key).split('|').map(folded));
    names
}

fn builtin(language: Language, key: &str) -> &'static str {
    match (language, key) {
        (Language::English, "shiitake") => {
            "shiitake|shiitakes|shitake|shitakes|shittake|shiitaki|shitaki|shiitake cap|shiitake caps|shiitakis|shii take|shiis"
        }
        (Language::English, "oyster") => "oyster|oysters|oyster cluster|oyster clusters|pleurotus|oysties",
        (Language::Spanish, "shiitake") => {
            "shiitake|shiitakes|shitake|shitakes|shiitaki|shitaki|chitake|chitakes|siitake|siitakes|xiitake"
        }
        (Language::Spanish, "oyster") => {
            "ostra|ostras|seta ostra|setas ostra|setas ostras|seta de ostra|setas de ostra|hongo ostra|hongos ostra|\
             hongo de ostra|hongos de ostra|orellana|orellanas|girgola|girgolas|gírgolas|pleurotus|pleuroto|pleurotos|\
             champiñón ostra|champiñones ostra|oyster|oysters"
        }
        (Language::Polish, "shiitake") => {
            "shiitake|shitake|szitake|sziitake|shiitaki|twardziak|twardziaka|twardziaki|twardziaków|twardziakami|\
             twardnik|twardnika|twardniki|twardników|twardnik japoński|twardnika japońskiego|twardniaki|twardniaków"
        }
        (Language::Polish, "oyster") => {
            "boczniak|boczniaka|boczniakowi|boczniakiem|boczniaki|boczniaków|boczniakami|boczniaczki|boczniaczków|\
             boczniak ostrygowaty|boczniaka ostrygowatego|boczniaki ostrygowate|boczniaków ostrygowatych|ostrygowate|oyster"
        }
        _ => "",
    }
}
