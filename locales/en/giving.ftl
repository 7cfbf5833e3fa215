# Food banks, drops and what was given.
command-drops = Coming food-bank drops
command-given = What was given, with a file
command-foodbanks = Food banks
banks-heading = <b>Food banks</b>
banks-none = No food bank yet. Press the button to add one.
banks-line = { $bank }, { $address }
button-new-bank = New food bank
bank-name-question = What is the food bank called?
bank-name-taken = { $bank } is on the list already. See /foodbanks.
bank-unknown = No food bank on the list is called { $bank }, so nothing was entered. See the list or add it with /foodbanks.
bank-address-question = What is the address of { $bank }?
bank-address-long = Please write an address of at most { $most } characters.
bank-minutes-question = How many minutes does it take to get there?
bank-minutes-wrong = Please write the minutes as a number from 0 to { $most }, for example 25.
bank-hours-question = When is { $bank } open? Write for example <i>Fri 9:00-12:00, Sat 10-13</i>.
hours-not-read = I could not read those hours. Write days and times, for example <i>Fri 9:00-12:00, Sat 10-13</i>.
hours-cross-midnight = { $opens } to { $closes } goes over midnight. Write such hours as two days, for example <i>Fri 22-24, Sat 0-2</i>. If you meant the afternoon, write <i>pm</i> or 13 to 23.
hours-empty = Those hours close as they open. Write for example <i>Fri 9:00-12:00</i>.
hours-overlap = Two of those times on one day overlap. Write them as one.
bank-weights-question = What is the least and the greatest weight they take at once? Write for example <i>5 lb to 60 lb</i>.
bank-weights-wrong = Please write two weights, the lesser first, for example <i>5 lb to 60 lb</i>.
bank-closed-question = On which date is { $bank } closed? Press or write it as <i>2026-12-24</i>.
bank-closed-wrong = Please write a coming date as year, month and day, for example <i>2026-12-24</i>.
bank-card =
    <b>{ $bank }</b>
    { $address }
    { $minutes ->
        [one] { $minutes } minute
       *[other] { $minutes } minutes
    } to get there
bank-hours = { $day }: { $opens } to { $closes }
bank-weights = Takes { $least } to { $greatest } at once
bank-crops = Takes: { $crops }
bank-cold = Can keep food at or below 5 °C (41 °F)
bank-warm = Cannot keep food cold: no fresh mushrooms are proposed to it
bank-closed = Closed on: { $days }
bank-no-contact = Nobody from there has joined: invite a contact
bank-contacts = Contacts: { $names }
button-invite-contact = Invite a contact
button-address = Address
button-minutes = Minutes
button-hours = Hours
button-weights = Weights
button-closed-days = Closed dates
button-this-crop = Takes { $crop }
button-not-this-crop = No { $crop }
button-cold-store = Has a cold room
button-no-cold-store = No cold room
button-closed-on = Closed { $day }
button-open-on = Open { $day }
drop-looking = Looking for a food bank that can take { $what }.
drop-asked =
    Asked <b>{ $bank }</b> whether they take { $what }: { $day }, { $from } to { $to }.
    They answer by { $answer_by }; after that the next one is asked.
drop-call-them =
    <b>{ $bank }</b> could take { $what }: { $day }, { $from } to { $to }.
    Nobody from there is in this chat: please call them before { $answer_by }.
button-agreed-by-phone = They agreed by phone
button-call-off = Call it off
button-again = Propose it again
button-show = Open it
gift-proposed =
    <b>{ $farm } has something for { $bank }</b>: { $what }.
    We would bring it on { $day } between { $from } and { $to }.
    Please answer by { $answer_by }.
gift-caution = Fresh cultivated mushrooms only, kept at or below 5 °C (41 °F). Please keep them cold and follow your local food codes.
button-agree = Agreed
button-agree-first = Agreed, the first time
button-other-time = Another time
button-not-this-time = Not this time
button-window = { $day }, { $from } to { $to }
gift-other-times = When would you like { $what }? The first time was { $day }, { $from } to { $to }.
gift-no-other-time = There is no other time at which it still keeps and you are open.
gift-agreed = Agreed: { $what } on { $day } between { $from } and { $to }. Thank you!
gift-declined = All right, not this time. Thank you for answering.
gift-passed-on = No answer is needed any more: { $what } goes to somebody else.
gift-called-off = We are sorry: { $farm } cannot bring { $what } on { $day }.
gift-thanks = Thank you for taking { $what }: about { $meals ->
        [one] { $meals } meal
       *[other] { $meals } meals
    }. { $farm }
drop-agreed = { $bank } agreed: { $what } on { $day }, { $from } to { $to }.
drop-agreed-keeper = { $bank } agreed: { $what } on { $day }, { $from } to { $to }. The driver is reminded the evening before and before leaving.
drop-agreed-driver = A drop for you: { $what } to { $bank } on { $day }, { $from } to { $to }. I remind you the evening before and before you leave.
drop-is-agreed = That is agreed already: { $what } to { $bank } on { $day }, { $from } to { $to }.
drop-is-over = That drop to { $bank } is over: it was entered before. Nothing was changed.
drop-is-off = That drop to { $bank } is not on any more. Nothing was changed.
drop-declined = { $bank } cannot take { $what } this time. The next food bank is asked.
drop-unanswered = { $bank } did not answer about { $what }. The next food bank is asked.
drop-called-off = Called off: { $what } to { $bank } on { $day }. The mushrooms are free again, so please find another way for them with /left.
drop-nobody = No food bank can take { $what } in time. Offer it, dry it or call one: /left shows what there is.
left-out-asked = · { $bank }: was asked
left-out-warm = · { $bank }: cannot keep it cold
left-out-crops = · { $bank }: does not take it
left-out-too-little = · { $bank }: takes { $least } or more
left-out-closed = · { $bank }: is not open before it spoils
drop-tomorrow = <b>Food-bank drop</b> on { $day }: { $what } to { $bank }, { $from } to { $to }. Leave at { $leave_at }.
drop-leave = <b>Time to get ready</b>: { $what } to { $bank }, { $from } to { $to }. Leave at { $leave_at }.
drop-was-it = <b>Was it handed over?</b> { $what } to { $bank }, { $day }.
drop-not-heard = Nobody has said yet whether { $what } was handed over to { $bank }.
drop-assumed = Nobody said how it went: { $what } to { $bank } counts as handed over as planned (assumed). In the record of gifts it is marked so.
drop-lapsed = Nobody said whether { $what } was handed over to { $bank }, and nothing of it is in the cold room. It counts as called off.
drop-where =
    { $address }, { $minutes ->
        [one] { $minutes } minute
       *[other] { $minutes } minutes
    } to get there
drop-caution = Keep it at or below 5 °C (41 °F) on the way; follow your local food codes.
button-handed-over = Handed over as planned
button-drop-other-weight = Other weight
button-could-not = Could not
drop-weight-question = How much was handed over to { $bank }? Agreed: { $what }. Write the weight, or one for each crop.
drop-nothing-handed = Nothing handed over? Then press <i>Could not</i> on the drop, see /drops. Nothing was entered.
drop-more-than-agreed = That is more than was agreed ({ $agreed }). Write what was handed over; nothing was entered.
drop-handed-over = Handed over to { $bank }: { $what }, about { $meals ->
        [one] { $meals } meal
       *[other] { $meals } meals
    }.
drop-temperature-question = If you measured the temperature, write it, for example <i>3 °C</i> or <i>38 F</i>.
drop-cold-enough = Noted: cold enough.
drop-too-warm = Noted. That is warmer than 5 °C (41 °F): tell the food bank, and follow your local food codes.
drops-heading = <b>Food-bank drops</b>
drops-none = None is coming.
drops-file = Coming drops as a table
drops-column-from = from
drops-column-until = until
drops-column-address = address
drops-column-grams = g
drops-column-agreed = agreed
drop-agreed-line = Agreed: { $what } to { $bank }, { $day }, { $from } to { $to }
drop-proposed-line = Asked: { $what } to { $bank }, { $day }, { $from } to { $to }
drop-past-line = Given: { $weight } to { $bank }, { $day }
drop-past-line-assumed = Given (assumed): { $weight } to { $bank }, { $day }
handed-which-question = What was handed over? Nothing has been written down yet.
button-the-run = The delivery run
button-show-drop = { $bank }, { $day }
given-nothing = Nothing has been given yet.
given-heading = <b>What was given</b>
given-line =
    { $bank }, { $month }: { $weight }, { $meals ->
        [one] { $meals } meal
       *[other] { $meals } meals
    }
given-total =
    Together: <b>{ $weight }</b>, { $meals ->
        [one] { $meals } meal
       *[other] { $meals } meals
    }
given-assumed = Of it assumed, nobody confirmed it: { $weight }
given-meal-source = A meal is counted as 1.2 lb of food (Feeding America, after USDA).
given-caption = Every entry. This is a record, not advice: ask a tax adviser; donors' protection and deductions depend on local law.
given-file = given
given-column-day = date
given-column-bank = food bank
given-column-crop = crop
given-column-kilograms = kg
given-column-pounds = lb
given-column-value = value at the farm's price
button-remove-bank = Take off the list
bank-remove-question = Take { $bank } and its contacts off the list? What it was given stays on record.
bank-removed = { $bank } is off the list.
bank-has-drops = A drop to { $bank } is still coming: call it off first, see /drops.
drop-undone = <b>Taken back</b>: { $what } to { $bank } is not handed over. What was handed over?
gift-corrected = A correction: { $what } is not entered as handed over yet. We will enter it anew.
button-regular = Regular drop
button-regular-at = { $rhythm }, { $at }
button-regular-not-on = { $bank }: not on { $day }
button-regular-stop = End { $bank }
regular-question = When shall { $bank } get what is free, again and again? Press, or write for example <i>every Saturday 14:00 to { $bank }</i>.
regular-line = Regular drop to { $bank }: { $rhythm } at { $at }, next on { $day }
regular-line-no-next = Regular drop to { $bank }: { $rhythm } at { $at }, no coming date is open
regular-asked-line = Asked for a regular drop to { $bank }: { $rhythm } at { $at }
regular-not-open = { $bank } is not open then: { $rhythm } at { $at }. Nothing was changed; its hours are shown by /foodbanks when you press its name.
regular-no-date = { $bank } needs hours and a weekday first. Write for example <i>every Saturday 14:00 to { $bank }</i>.
regular-exists = { $bank } has a regular drop already. End that one first.
regular-warm = { $bank } cannot keep food cold, so no fresh mushrooms are proposed to it.
regular-asked = Asked <b>{ $bank }</b> whether they would like to get what is free: { $rhythm } at { $at }, beginning { $day }.
regular-call-them =
    <b>{ $bank }</b> could get what is free: { $rhythm } at { $at }, from { $day } on.
    Nobody from there is in this chat: please call them.
gift-regular-proposed =
    <b>{ $farm } would like to bring { $bank } what is left over</b>: { $rhythm } at { $at }, { $least } to { $greatest }, from { $day } on.
    You agree once. The day before we say what comes; some weeks it is nothing.
gift-regular-agreed = Agreed: { $rhythm } at { $at }, beginning { $day }. Thank you! To leave out a date or to end the regular drop, write /drops.
regular-agreed = { $bank } agreed to a regular drop: { $rhythm } at { $at }, from { $day } on. I fill it with what is free the day before, never with what is promised.
gift-regular-declined = All right, no regular drop. Thank you for answering.
regular-declined = { $bank } does not want a regular drop ({ $rhythm }).
regular-stop-question = End the regular drop to { $bank } ({ $rhythm })?
regular-stopped = The regular drop to { $bank } ({ $rhythm }) has ended. A drop that is agreed already stays, see /drops.
regular-not-on = No regular drop to { $bank } on { $day }.
regular-on-again = The regular drop to { $bank } on { $day } is on again.
regular-filled = Regular drop to { $bank }: { $what } on { $day }, { $from } to { $to }. The driver is reminded the evening before and before leaving.
gift-regular-comes = <b>{ $farm } brings { $bank }</b> { $what } on { $day } between { $from } and { $to }.
regular-more = More for { $bank } on { $day }: it is { $what } now.
regular-nothing = Nothing is free for { $bank }: the regular drop of { $day } is skipped.
regular-too-little = Only { $free } is free for { $bank }, which takes { $least } or more: the regular drop of { $day } is skipped.
gift-regular-nothing = { $farm } brings nothing on { $day }: nothing was left over. Until the next time!
regular-closed = No regular drop to { $bank } on { $day }: it is closed then, or nobody drives. What is free goes to the next food bank.
regular-full = No regular drop to { $bank } on { $day }: it is full. What is free goes to the next food bank.
button-full = We are full on a day
button-full-on = Full { $day }
button-not-full-on = Room on { $day }
full-question = On which day can { $bank } take nothing?
bank-full = Full on: { $days }
bank-need = Asked first: its need is greater
button-need-greater = Greater need
button-need-as-others = Same need as others
left-out-full = · { $bank }: is full
button-papers = Calendar file and sheet
drop-calendar = { $bank }, { $day }: for your calendar
drop-sheet = { $bank }, { $day }: the sheet to print and fill in at the door
drop-event = Food-bank drop: { $bank }
drop-event-text = { $what } to { $bank }, { $from } to { $to }. Leave at { $leave_at }.
given-caution = A record, not advice: ask a tax adviser. What applies depends on local law.
button-year-sheet = { $year } to print
button-year-table = { $year } as tables
button-given-correct = Correct an entry
button-given-correct-drop = { $bank }, { $day }: { $weight }
given-year-sheet = What was given in { $year }
given-year-months = What was given in { $year }, by food bank and month
given-year-entries = What was given in { $year }, every entry
given-column-year-kilograms = year kg
given-column-meals = meals
given-column-basis = cost
given-column-correction = correction
given-column-assumed = assumed
given-correct-which = Which drop was entered wrongly?
given-correct-question = How much did { $bank } really get on { $day }? Entered: { $what }. Write the weight, or one for each crop.
given-correct-no-crop = That drop to { $bank } brought no { $crop }. Nothing was changed.
given-corrected = Corrected: { $bank } got { $what } on { $day }. The entries of before stay on record.
gift-corrected-weight = A correction: on { $day } you got { $what }.
gift-cancel-question = Shall I call off the drop of { $what } on { $day }, { $from } to { $to }? This is final.
button-cancel-gift = Yes, call it off
