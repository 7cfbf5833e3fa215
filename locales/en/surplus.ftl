# What is left and where it goes.
command-left = What is left in the cold room
left-heading = <b>What is left</b>
left-nothing = Nothing lies in the cold room.
left-crop = <b>{ $crop }</b>: { $free } free, of { $there } in the cold room
left-promised = · promised: { $weight }
left-offered = · on offer or taken: { $weight }
left-given = · for a food bank: { $weight }
left-market = · for the market on { $day }: { $what }
left-lot =
    · { $weight } keeps until { $day }, { $days ->
        [0] today is its last day
        [one] { $days } more day
       *[other] { $days } more days
    }
left-past = · { $weight } was good until { $day } only: do not sell or give it
left-dried = · dried it would be about { $weight }; into the drier by { $by }
left-best = <b>Best</b> { $way }
left-beside = · and at once, beside it: { $weight } { $way }
left-worth = { $line }, about { $money }
left-way-offer = · offer it to restaurants; latest { $by }
left-way-market = · keep it for the market; latest { $by }
left-way-give = · give it to a food bank; latest { $by }
left-changed = Something has changed since you read this. This is what is best now:
way-offer = to restaurants
way-market = for the market
way-give = to a food bank
way-dry = into the drier
left-as-it-is = Left as it is. /left brings this back.
button-offer = Offer { $crop }
button-keep = Market: { $crop }
button-give = Give { $crop }
button-dry = Dry { $crop }
button-discard = Throw away { $crop }
button-to-market = Off to the market
button-market-back = Back from the market
button-leave = Leave it
button-undo = Undo
button-back = Back
button-all-of = All { $weight }
button-half-of = Half { $weight }
button-one-pack = One pack { $weight }
button-other-amount = Other amount
button-no-thanks = No thanks
button-look-again = Let me see it again
button-give-back = Give back { $weight }
button-collected = Collected
button-pick-up = I'll pick it up
button-not-collected = Not collected, free again
button-nothing-back = Nothing came back
surplus-more-than-free = That is more { $crop } than is free: { $free } is. Nothing was changed.
surplus-more-than-there = The cold room holds { $there } of { $crop }. Nothing was changed.
surplus-not-a-weight = I could not read that as a weight. Write for example <i>4 lb oyster, 1 lb shiitake</i>.
surplus-not-in-cold-room = By my count the cold room does not hold { $what } that is still good. Enter what was picked first, then press again.
surplus-dried = { $weight } { $crop } goes into the drier: about { $dried } dried.
surplus-discarded = { $weight } { $crop } is thrown away.
surplus-promises-uncovered = Careful: { $weight } { $crop } that is promised or set aside is no longer covered.
surplus-put-back = Taken back: it lies in the cold room again.
market-no-day = The farm's configuration names no market day, so nothing can be kept for one. Offer it, give it or dry it.
market-does-not-keep = No free { $crop } keeps until the market on { $day }. Offer it, give it or dry it.
market-keep-question = How much { $crop } shall I keep for the market on { $day }? { $free } is free. Press or write a weight.
market-kept = { $weight } { $crop } is kept for the market on { $day }.
market-nothing-kept = Nothing is kept for today's market.
market-left = Off to the market: { $what }.
market-left-less = { $what } that was kept is not there: promised orders come first, and what is past its date stays here.
market-back-question = What came back from the market? Write for example <i>4 lb oyster, 1 lb shiitake</i>.
market-back-heavier = { $back } { $crop } cannot come back: { $left } went to the market. Nothing was changed.
market-back = Back in the cold room: { $what }. The rest counts as sold.
market-all-sold = Good: nothing came back, everything counts as sold.
market-back-entered = It is entered for today, not for { $day }.
market-back-to-come = { $day } is still to come. Nothing was entered; please check the day, or write what came back without one.
offer-nobody = No restaurant has joined yet, so nobody can be asked. Invite one with /people.
offer-made =
    Offered { $what } to { $buyers ->
        [one] { $buyers } restaurant
       *[other] { $buyers } restaurants
    } until { $deadline }. I tell you who takes some; what is left then goes to a food bank.
offer-left = We have <b>{ $what }</b> left. First come, first served.
offer-price = { $price } for { $weight }
offer-times = Until { $deadline }; collect by { $until }.
offer-all-taken = { $what }: all taken.
offer-closed = { $what }: this offer is over.
offer-yours = Yours: <b>{ $what }</b>. Please collect by { $until }.
offer-yours-along = Yours: <b>{ $what }</b>. It comes with your delivery on { $day }.
offer-picked-up = All right: please collect it by { $until }.
offer-packed-already = The van is packed already, so it comes along. Nothing was changed; call us if that does not suit.
offer-collected = Collected: { $what }. Thank you!
offer-declined = All right, not this time.
offer-granted = { $what } is yours.
offer-partly = Only { $what } was left. It is yours; give it back if that is too little.
offer-too-small = The smallest amount is { $what }.
offer-gone = Somebody was faster: nothing is left.
offer-too-late = This offer is over. Nothing was taken.
offer-weight-question = How much would you like? { $left } is left. Write a weight, for example 2 lb.
offer-given-back = { $what } is given back. Thank you for saying so.
offer-not-collected = { $what } was not collected, so it is no longer set aside for you.
offer-closed-before = That offer is over already.
offer-withdrawn = The offer is taken back. What was taken stays taken.
offer-ended = The offer of { $what } is over: { $taken } taken, { $left } left.
claim-made = <b>{ $buyer }</b> takes { $what } and collects it by { $until }. { $left } is left on offer.
claim-made-along = <b>{ $buyer }</b> takes { $what }; it goes along with the delivery on { $day }. { $left } is left on offer.
claim-picked-up = <b>{ $buyer }</b> picks { $what } up after all, by { $until }.
claim-goes-along = { $buyer }: { $what } from the offer goes along with the delivery on { $day }.
claim-given-back = { $buyer } gave back { $what }.
claim-collected = { $buyer } collected { $what }.
claim-not-collected = { $buyer } did not collect { $what }: it is free again, see /left.
claim-still-here = { $buyer } has not collected { $what }. Was it fetched?
cold-room-noted = Noted: the cold room has { $temperature }.
cold-room-said = Cold room: { $temperature }, said { $at }
cold-room-warm = <b>Warmer than 5 °C (41 °F)</b>: what lies there keeps shorter. Cool it down, and follow your local food codes.
cold-room-lot-now = · { $what } keeps until { $day }, not { $before }
cold-room-range = { $temperature } cannot be: a cold room has { $least } to { $most }. Nothing was written down.
cold-room-which-scale = Which of the two is it in the cold room?
surplus-dried-label = For the label: <i>Dried { $crop }, cultivated; nothing else in it. Dried { $day }. Keep dry, cook before eating.</i> A mix names every crop in it, and any allergen beside them. Follow your local food codes.
command-rules = What I do by myself with what is left
rules-heading = <b>What I do by myself with what is left</b>
rules-none = Nothing yet: I count after the delivery run and you decide.
rules-type = Press, or write for example <i>offer oyster until Friday noon, then give</i>.
rule-line = · { $crop }: offer until { $weekday } { $time }, then give
rule-all-crops = all others
rule-day = { $weekday }
rule-time = { $time }
rule-day-question = Until which day shall I offer { $crop } before I give the rest?
rule-time-question = Until what time on { $weekday } shall I offer { $crop }? For any other time, write the rule out.
rule-set = I do so from the next count on.
rule-stopped = Stopped. What is on offer now stays on offer; take it back with /left.
rule-unread = I could not read that rule. Nothing was changed. Write the crop, the day and the time.
rule-offered =
    By your rule: offered { $what } to { $buyers ->
        [one] { $buyers } restaurant
       *[other] { $buyers } restaurants
    } until { $deadline }; what is left then goes to a food bank.
rule-gives = By your rule: { $what } cannot be offered, so I ask the food banks now.
button-set-rule = Rule: { $crop }
button-stop-rule = Stop: { $crop }
button-stop-it = Stop it
left-next = More than is ordered, { $day }: about { $likely } { $crop } ({ $range })
offer-yielded = An order needs { $what } that was on offer: it is taken off. { $left } is left on offer.
