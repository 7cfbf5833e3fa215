# Ordering for one delivery, standing orders, what is coming.
command-order = Order for the next delivery
command-standing = Standing orders
command-orders = What is coming

order-day = <b>{ $day }</b>
order-line-once = { $amount }
order-line-standing = { $amount } (standing order)
order-line-changed = { $amount } (standing order, usually { $usual })
order-nothing = Nothing ordered.
order-standing-rests = Your standing orders rest on this day.
order-closes = Orders close { $until }.
order-done = Done. This is how it stands:
order-undone = Taken back. This is how it stands:
order-as-it-was = That is how it was already:
order-left = Nothing was changed:
order-changed-meanwhile = It was changed in the meantime, so I left it alone. Now:
order-told = { $name } changed your order:
order-told-undone = { $name } took the last change back:

order-too-much = { $crop }: one order line can be { $greatest } at most. Nothing was changed.
order-too-little = { $crop }: the smallest pack is { $smallest }. Nothing was changed.
order-unknown-crop = We don't grow { $crop }. We have { $crops }.
order-day-past = { $day } has passed.
order-day-far = { $day } is too far ahead: orders are taken for the coming year.
order-day-closed = Orders for { $day } are closed.
order-day-none = No delivery goes out on { $day }.
order-still-possible = You can still order for { $day }, until { $until }.
order-no-delivery = No delivery is planned at the moment. Please ask the farm.
order-which-day = For which delivery?
order-no-last-time = I find no earlier order to repeat. Write what you would like, for example <i>5 lb shiitake</i>.
order-nothing-to-skip = There was nothing to take off:

order-understood = I understood { $amounts } for { $day }.
order-understood-change = I understood { $amounts } in all for { $day }.
order-right-question = Is that right?
order-beside-question = Your standing order already brings { $standing } that day. Is { $asked } in place of it or on top?
order-edit-day = For { $day }:
order-edit-line = { $amount } (now { $was })
order-edit-off = Off: { $amount }
order-edit-none = No { $crop }
order-edit-standing = Your standing orders:
order-make-which = { $weight } of which, for { $day }?
order-skip-question = Take { $amounts } off { $day }?
order-withdraw-question = Take back { $amounts } for { $day }? Standing orders stay.
order-undo-nothing = There is no change to take back.
order-undo-overtaken = There was another change after that one, so I left everything as it is. Look at /orders.
order-undo-closed = Orders have closed since, so this cannot be taken back here. Please write to the farm.

order-button-less = − { $crop }
order-button-more = + { $crop }
order-button-same = Same as last time
order-button-nothing = Nothing this time
order-button-other-day = Other date
order-button-standing = Standing orders
order-button-undo = Undo
order-button-that-day = Take { $day }
order-button-right = Yes, that's right
order-button-mend = No, change it
order-button-in-place = In place of it
order-button-on-top = On top of it
order-button-leave = Leave it as it is
order-button-change-day = Change { $day }
order-button-sooner = ‹ Earlier
order-button-later = Later ›
order-button-history = What I had before
order-button-coming = What is coming

order-award = { $crop }: asked { $asked }, promised { $promised }
order-award-delivered = { $crop }: asked { $asked }, promised { $promised }, delivered { $delivered }
order-along = Along with it, from an offer: { $what }
order-no-history = No delivery so far.
order-type-weight = Write the weight with its unit, for example <i>5 lb</i> or <i>2.5 kg</i>.
order-weight-unread = I need a number and its unit, for example <i>5 lb</i> or <i>2.5 kg</i>. Nothing was changed.

standing-heading = <b>Standing orders</b>
standing-none = None yet.
standing-line = <b>{ $amount }</b>, { $rhythm }
standing-every-week = every { $days }
standing-every-second-week = every second week: { $days }
standing-every-weeks =
    { $weeks ->
        [one] every { $weeks } week: { $days }
       *[other] every { $weeks } weeks: { $days }
    }
standing-own-dates = on dates of its own
standing-next = Next: { $day }
standing-no-next = No more dates.
standing-rests = Resting until you say so.
standing-rests-until = Resting until { $day }.
standing-changed = { $day }: { $weight } this once
standing-no-delivery = { $day }: no delivery goes out, so nothing is ordered. Use /order for another day.
standing-until = Last day: { $day }
standing-unreadable = Your standing order for { $crop } cannot be read, so nothing is ordered by it. The farm knows. You can end it and start a new one in /standing.
standing-unreadable-family = The standing order of { $buyer } for { $crop } cannot be read in the database, so nothing is ordered by it. They see this too. <code>pinset check</code> names it.

standing-understood = I understood { $amounts }, { $rhythm }, from { $day } on.
standing-replaces = In place of { $amounts } from then on.
standing-weekdays = We deliver on { $days } only.
standing-weeks-limit =
    { $most ->
        [one] The rhythm can be { $most } week at most.
       *[other] A rhythm can be 1 to { $most } weeks.
    }
standing-until-early = It would end before its first delivery. Nothing was changed.
standing-which-weekday = On which day?
standing-which-crop = Which crop?
standing-which-weight = How much { $crop } each time?
standing-how-often = { $amount }, how often?
standing-until-when = No standing deliveries for a while. When should they start again?
standing-pause-early = A rest until { $day } would skip nothing: the next delivery you can still change is { $next }.
standing-pause-question = Rest all standing orders from { $from }, and start again on { $until }?
standing-pause-open-question = Rest all standing orders from { $from } until you say so?
standing-end-question = End your standing order of { $amounts }?
standing-not-there = There is no such standing order:
standing-file = Your standing deliveries of the coming half year, for your calendar.
standing-file-empty = No standing delivery is coming, so there is nothing to put in a calendar.
standing-file-event = { $farm }: { $amounts }

standing-button-new = New standing order
standing-button-pause = Rest
standing-button-resume = Start again
standing-button-file = Calendar file
standing-button-end = End { $crop }
standing-button-other-weight = Another weight
standing-button-skip = Skip { $day }
standing-button-one-date = Change { $day } only
standing-button-weekly = Every week
standing-button-second = Every second week
standing-button-every-delivery = Every delivery day
standing-button-back = Start again { $day }
standing-button-open-end = Until I say so
