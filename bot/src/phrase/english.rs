//! English words and what they stand for. Apostrophes are dropped before these are looked up ("don't" is "dont").

use super::TemperatureScale::{Celsius, Fahrenheit};
use super::vocabulary::Term::*;
use super::vocabulary::{Entry, Verb};
use chrono::Weekday::*;
use scheduler::quantity::Amount;
use scheduler::quantity::WeightUnit::{Gram, Kilogram, Ounce, Pound};

const HALF: Amount = Amount { numerator: 1, denominator: 2 };
const THIRD: Amount = Amount { numerator: 1, denominator: 3 };
const QUARTER: Amount = Amount { numerator: 1, denominator: 4 };

pub(super) fn entries() -> Vec<Entry> {
    [wishes(), reports(), numbers(), days(), joints(), doubts()].concat()
}

fn wishes() -> Vec<Entry> {
    vec![
        (Verb(Verb::Order), "order|to order|place an order|new order|order for"),
        (
            Polite,
            "can i get|can i have|could i get|could i have|can we get|can we have|could we get|could we have|may i have|may we have|\
             could you send|can you send|can you|could you|would you|will you|please send|send|send me|send us|i want|we want|\
             id like|i would like|wed like|we would like|i need|we need|need|gimme|give me|give us|ill take|well take|i will take|\
             we will take|ill have|well have|put me down for|put us down for|let me get|lets do|let us do|lets have|want|would like|\
             bring|bring me|bring us|id like to|i would like to|wed like to|i want to|we want to|i need to|we need to|\
             looking for|get me|get us|take",
        ),
        (
            Verb(Verb::Same),
            "same as last week|same as last time|same as the last time|same as before|same again|same order|same order again|\
             same order as last week|the same order|same thing|same thing as last week|same thing again|the usual|usual|usual order|\
             my usual|our usual|the usual order|my usual order|our usual order|repeat last order|repeat my last order|repeat the last order|\
             repeat last week|repeat last weeks order|repeat|same|the same|the same as last week|the same as last time|the same again|\
             what i had last week|what we had last week|same as usual|as usual|same as last weeks|same as ever|like last week|\
             same like last week|ditto|same as last weeks order",
        ),
        (
            Verb(Verb::Skip),
            "lets skip|let us skip|skip|skip us|skip me|skipping|skip my order|skip our order|skip the order|skip delivery|sit out|leave us out|leave me out|pass on",
        ),
        (
            Verb(Verb::Nothing),
            "dont need anything|we dont need anything|i dont need anything|dont want anything|we dont want anything|dont send anything|nothing|nothing for us|nothing for me|no order|no delivery|no mushrooms|not ordering|none|nothing needed",
        ),
        (
            Verb(Verb::Change),
            "actually make it|actually change to|lets make it|make it|make that|change|change to|change it to|change that to|change my order to|change our order to|change the order to|\
             change order to|change my order|change our order|change the order|update|update to|update my order to|update my order|\
             update our order to|modify my order to|set it to|switch to|bump it to|cut it to|make my order|make our order|\
             make it to|changing my order to",
        ),
        (
            Verb(Verb::Without),
            "without|leave out|leave off|drop the|hold the|dont need|i dont need|we dont need|dont want|i dont want|we dont want|\
             dont need any|we dont need any|i dont need any|no more need for|wont need|we wont need|i wont need|dont send|dont bring|\
             wont need any|we wont need any|i wont need any|dont send any|do not need|do not send|not need",
        ),
        (
            Verb(Verb::Pause),
            "pause|pause my order|pause our order|pause my orders|pause our orders|pause orders|pause everything|put on hold|put us on hold|put my order on hold|put our order on hold|hold my orders|hold our orders|pausing|pause deliveries|pause my deliveries|pause our deliveries|suspend|stop deliveries until|were closed|we are closed|closed",
        ),
        (
            Verb(Verb::Resume),
            "resume|resume my order|resume our order|resume my orders|resume our orders|resume orders|start again|start up again|restart|unpause|were back|we are back|back on|carry on|resume deliveries|resume my deliveries|restart my order|restart our order|were open again|we are open again|turn it back on",
        ),
        (
            Verb(Verb::End),
            "end|end my|end the|no more|stop|stop the|stop my|stop sending|stop bringing|stop all|finish|discontinue",
        ),
        (
            Standing,
            "standing order|standing orders|my standing order|our standing order|weekly order|weekly orders|regular order|regular orders|standing|recurring order|repeating order",
        ),
        (
            Verb(Verb::Cancel),
            "cancel|cancel my order|cancel our order|cancel the order|cancel order|cancel it|cancel that|cancel everything|cancel all|\
             withdraw|withdraw my order|withdraw our order|withdraw the order|scrap my order|scrap the order|scrap that|forget my order|\
             call off|call off my order|take back my order|delete my order|remove my order|cancel delivery|cancel the delivery|cancelling",
        ),
        (
            Verb(Verb::Yes),
            "yes|yep|yeah|yup|ok|okay|sure|confirm|confirmed|correct|thats right|that is right|sounds good|yes please|right|perfect|agreed|go ahead|do it|all good|looks good|y|exactly|of course|fine|deal",
        ),
        (
            Verb(Verb::No),
            "no|nope|nah|no thanks|no thank you|n|wrong|thats wrong|that is wrong|not right|incorrect|not correct|thats not right|no way",
        ),
        (
            Verb(Verb::Help),
            "help|help me|what can you do|what can i do|how does this work|how do i order|commands|instructions|what can i say|how do i use this|i need help",
        ),
        (
            Verb(Verb::ShowOrders),
            "my orders|show my orders|show orders|orders|our orders|show our orders|my order|show my order|show order|what did i order|what did we order|\
             what have i ordered|what have we ordered|whats my order|what is my order|whats our order|whats on my order|order status|list my orders|list orders|\
             see my orders|see my order|view my orders|whats coming|what are we getting|what am i getting|order history|check my order|check my orders",
        ),
        (
            Verb(Verb::Today),
            "whats on today|what is on today|whats up today|whats to do today|what to do today|whats today|todays list|todays jobs|todays work|todays tasks|today list|show today|what do we do today|to do today|todo today",
        ),
    ]
}

fn reports() -> Vec<Entry> {
    vec![
        (
            Verb(Verb::Pick),
            "picked|i picked|we picked|harvested|i harvested|we harvested|just picked|weve picked|ive picked",
        ),
        (
            Verb(Verb::Pins),
            "pins|pins on|pins seen|pins seen on|seeing pins|seeing pins on|saw pins|saw pins on|see pins|see pins on|first pins|first pins on|pinning|is pinning|are pinning|pins showing|pins showing on|pinset|pinset on|pins are showing|pins are showing on|pins out|pins out on|new pins|new pins on|i see pins|i see pins on|we have pins on|started pinning|has started pinning|pins are out on",
        ),
        (
            Verb(Verb::Lost),
            "lost|we lost|i lost|threw out|threw away|tossed|we tossed|discarded|binned|composted|we threw out|i threw out|had to toss|had to throw out",
        ),
        (
            Verb(Verb::Soaked),
            "soaked|i soaked|we soaked|just soaked|put in to soak|dunked|weve soaked|ive soaked|soaked today",
        ),
        (Verb(Verb::Opened), "opened|i opened|we opened|opened up|just opened|ive opened|weve opened"),
        (
            Verb(Verb::Return),
            "back with|came back with|we came back with|i came back with|brought back|we brought back|i brought back|market return|market returns|left from market|left over from market|back from market with|back from the market with|home with|came home with|returned with|leftover from market|unsold|unsold at market|from market",
        ),
        (
            Verb(Verb::HandedOver),
            "handed over|dropped off|delivered|i dropped off|we dropped off|we delivered|i delivered|handed off|drop off done|drop done|delivery done|handed in|left at the pantry|handed it over|dropped it off|delivered it",
        ),
        (
            Courtesy,
            "to mould|to mold|with mould|with mold|mouldy|moldy|contaminated|to contamination|with trich|to trich|to green mould|to green mold|from market today|at the pantry|to the pantry|at the food bank|to the food bank",
        ),
        (Piece, "block|blocks|bag|bags|log|logs|unit|units"),
        (Batch, "batch|batch no|batch number|lot|batch nr"),
        (Degree, "degree|degrees|deg|degs"),
        (Scale(Celsius), "c|celsius|centigrade"),
        (Scale(Fahrenheit), "f|fahrenheit"),
    ]
}

fn numbers() -> Vec<Entry> {
    let mut entries = vec![
        (One, "a|an"),
        (Part(HALF), "half"),
        (Part(QUARTER), "quarter"),
        (Parts(QUARTER), "quarters|fourths"),
        (Part(THIRD), "third of"),
        (Parts(THIRD), "thirds of|thirds"),
        (Unit(Pound, 1), "lb|lbs|pound|pounds|pnd|pnds|lbm"),
        (Unit(Ounce, 1), "oz|ozs|ounce|ounces"),
        (Unit(Kilogram, 1), "kg|kgs|kilo|kilos|kilogram|kilograms|kilogramme|kilogrammes"),
        (Unit(Gram, 1), "g|gr|grs|gram|grams|gramme|grammes|gms|gm"),
        (Mushroom, "mushroom|mushrooms|shrooms|mushies"),
        (Number(100), "hundred|a hundred|one hundred"),
        (Ordinal(1), "first"),
        (Ordinal(2), "second"),
        (Ordinal(3), "third"),
        (Ordinal(4), "fourth"),
    ];
    let words = [
        "zero",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
        "twenty",
    ];
    entries.extend(words.into_iter().zip(0..).map(|(word, number)| (Number(number), word)));
    entries.extend(
        ["thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
            .into_iter()
            .zip(3..)
            .map(|(word, tens)| (Number(tens * 10), word)),
    );
    entries
}

fn days() -> Vec<Entry> {
    let mut entries = vec![
        (Near(0), "today|tonight"),
        (Near(1), "tomorrow|tmrw|tomorow|tommorow|tommorrow|tmw"),
        (Near(2), "day after tomorrow|the day after tomorrow"),
        (Near(-1), "yesterday"),
        (
            NextDelivery,
            "next delivery|the next delivery|this delivery|next time|this time|the next one|next one|this one|this time around|next drop|the next order|next order|coming delivery",
        ),
        (Next, "next"),
        (This, "this|this coming|coming|this next"),
        (Week, "week|weeks|wk|wks"),
        (Days, "day|days"),
        (Months, "month|months"),
        (Weekly(1), "weekly|every week|each week|per week|once a week"),
        (
            Weekly(2),
            "fortnightly|every fortnight|every other week|every second week|alternate weeks|every two weeks|every 2 weeks",
        ),
        (Every, "every|each and every|all"),
        (Other, "other|alternate|alternating"),
        (From, "from|starting|starting from|starting on|start|beginning|as of|from the|since|begin|starting in"),
        (Until, "until|till|til|through|thru|up to and including|ending|until the|to the|ends"),
        (EndOf, "end of|the end of|end"),
        (Nth, "th|st|nd|rd"),
    ];
    let weekdays: [(_, &str, &str); 7] = [
        (Mon, "monday|mon", "mondays"),
        (Tue, "tuesday|tue|tues", "tuesdays"),
        (Wed, "wednesday|wed|weds", "wednesdays"),
        (Thu, "thursday|thu|thur|thurs", "thursdays"),
        (Fri, "friday|fri", "fridays"),
        (Sat, "saturday|sat", "saturdays"),
        (Sun, "sunday|sun", "sundays"),
    ];
    for (day, one, many) in weekdays {
        entries.push((Weekday(day), one));
        entries.push((Weekdays(day), many));
    }
    let months = [
        "january|jan",
        "february|feb",
        "march|mar",
        "april|apr",
        "may",
        "june|jun",
        "july|jul",
        "august|aug",
        "september|sep|sept",
        "october|oct",
        "november|nov",
        "december|dec",
    ];
    entries.extend(months.into_iter().zip(1..).map(|(names, month)| (Month(month), names)));
    entries
}

fn joints() -> Vec<Entry> {
    vec![
        (And, "and|n|plus|along with|as well as|also"),
        (The, "the|our|my"),
        (Of, "of"),
        (In, "in|on|at"),
        (For, "for|by"),
        (Each, "each|of each|apiece|each of"),
        (
            Courtesy,
            "please|pls|plz|thanks|thank you|thx|ty|cheers|hi|hello|hey|hiya|good morning|good afternoon|good evening|morning all|to|with|some|fresh|\
             team|guys|folks|chef|all the best|have a good one|its|it is|us|me|i|we|them|it|my order|our order|the order|is|are|\
             delivery|deliveries|delivered on|delivery on|chef here|hope all is well|much appreciated|appreciate it|just|ours|worth|kindly|will do|so|order",
        ),
        (Question, "huh"),
    ]
}

/// Words that change a meaning in ways not read here, and near-twins of known words that are no slips of them.
fn doubts() -> Vec<Entry> {
    let asked = [
        "not",
        "dont",
        "do not",
        "never",
        "maybe",
        "perhaps",
        "possibly",
        "might",
        "except",
        "but",
        "or",
        "either",
        "instead",
        "rather",
        "if",
        "unless",
        "about",
        "around",
        "roughly",
        "approx",
        "approximately",
        "ish",
        "at least",
        "at most",
        "up to",
        "max",
        "min",
        "minimum",
        "maximum",
        "more",
        "less",
        "extra",
        "another",
        "additional",
        "add",
        "fewer",
        "only if",
        "depending",
        "unsure",
        "couple",
        "few",
        "several",
        "dozen",
        "both",
        "double",
        "triple",
        "twice",
        "biweekly",
        "bi weekly",
        "bimonthly",
        "monthly",
        "every month",
        "still",
        "almost",
        "over",
        "under",
        "than",
        "last",
        "last week",
        "previous",
        "any",
        "until further notice",
        "probably",
        "think",
        "after",
        "before",
    ];
    let mut entries: Vec<Entry> = asked.into_iter().map(|word| (Doubt(word), word)).collect();
    entries.extend(
        ["do you have|have you got|is there|are there|how much|how many|any chance|do we have|got any|what about|how about|when|what|why|where|which|who|do you|does|did|will there be|is it|can i still|can we still|could i still|whats left|whats available|is"]
            .into_iter()
            .map(|words| (Asking, words)),
    );
    for twin in [
        "within", "changed", "cancels", "pickled", "shipped", "sundae", "charge", "charged", "chance", "cancer",
        "smoked", "presume", "shopped", "market", "marked", "rounds", "orderly", "packed", "ticked", "kicked",
        "licked", "pricked", "closet", "loosed", "skipper", "paused", "stopped", "ended",
    ] {
        entries.push((Word(twin.to_owned()), twin));
    }
    entries
}
