# Picking, packing and the run.
picking-heading = <b>To pick this evening</b> for { $day }
picking-line = { $crop }: promised { $promised }, ready { $ready }, <b>still to pick { $pick }</b>
picking-line-ready = { $crop }: promised { $promised }, ready { $ready }, nothing to pick
cold-chain = Cool overnight and keep at or below 5 °C (41 °F). Follow your local codes.
cold-chain-road = Keep at or below 5 °C (41 °F) on the way. Follow your local codes.
packing-heading = <b>Packing list</b>, { $day }
packing-row = <b>{ $buyer }</b>: { $amounts }
packing-total = Total { $amount }. Take first:
packing-lot = • picked { $picked }: { $weight }
packing-no-lot = • { $weight } are not on the books: weigh and enter what was picked
packing-file = Packing list as a table, { $day }
packing-sheet-file = Packing list to print, { $day }
button-print = Print it
button-table = As a table
packing-column-buyer = restaurant
packing-column-crop = crop
packing-column-grams = g
packing-column-lot = picked on
packing-none = Nothing is waiting to be packed or delivered.
packing-packed = <b>{ $day }</b>: all packed as listed, says { $name }. The run can begin.
packing-packed-already = <b>{ $day }</b>: that is packed already. Weights can still be changed on the run: /run
packing-assumed = Nobody has said that it is packed. The van leaves now, so it counts as packed as listed.
packing-whose = Whose weight is different?
packing-which = { $buyer }: which line is different?
packing-weight-question = { $buyer }, { $crop }: what is packed? Write a weight, such as <i>5 lb 4 oz</i> or <i>2.4 kg</i>.
packing-weight-unread = Please write a weight with its unit, such as <i>5 lb 4 oz</i> or <i>2.4 kg</i>.
packing-weight-too-much = There are at most { $most } of { $crop } for this on the books. Enter the pick first, or write less.
packing-cut = <b>{ $day }</b>: less is in the cold room than was promised. It was shared fairly, and each restaurant is being told:
packing-cut-line = { $buyer }: { $crop } { $before } → <b>{ $now }</b>
button-all-packed = All packed as listed
button-other-weights = Other weights
button-back-to-list = Back
run-heading = <b>Delivery run</b>, { $day }
run-row = • { $buyer }: { $amounts }
run-row-done = ✓ { $buyer }: { $amounts }
run-done = <b>{ $day }</b>: all delivered. Thank you.
run-row-assumed = ≈ { $buyer }: { $amounts } (assumed)
run-assumed = <b>{ $day }</b>: nobody said how the run went, so it counts as delivered as packed (≈ assumed). Was anything different?
run-unsaid = <b>{ $day }</b>: is the run done? Nobody has ticked it off. With no word by { $at } it counts as delivered as packed.
run-unsaid-day-before = <b>{ $day }</b>: nobody has said how the run went. With no word by { $at } it counts as delivered as packed.
run-over = <b>{ $day }</b>: that run is over already, nothing has changed.
run-not-yet = <b>{ $day }</b>: it is too early for that, nothing has changed.
run-not-on-the-books = { $amount } were not recorded: the cold room's books do not hold them. Enter the pick, then correct the weight.
run-weight-question = { $buyer }, { $crop }: what was delivered? Write a weight, such as <i>5 lb 4 oz</i> or <i>2.4 kg</i>.
button-delivered = Delivered: { $buyer }
button-other-weight = Other weight: { $buyer }
button-nothing = Nothing
button-correct-weight = Correct a weight
button-all-delivered = All delivered
button-run-of = Run of { $day }
command-packing = Packing list
command-run = Delivery run
road-late-told = Told: { $buyers }.
road-nobody-told = { $buyer } and the keeper hear that nobody opens. The stop stays on your run.
road-late = Your delivery comes a little later than usual today. We are on the way.
road-late-minutes = { $minutes ->
    [one] Your delivery comes about { $minutes } minute later today. We are on the way.
   *[other] Your delivery comes about { $minutes } minutes later today. We are on the way.
}
road-late-farm = The van is late for { $buyer }; they know.
road-late-minutes-farm = { $minutes ->
    [one] The van is { $minutes } minute late for { $buyer }; they know.
   *[other] The van is { $minutes } minutes late for { $buyer }; they know.
}
road-nobody = Our driver is at your door with your mushrooms and nobody opens. Can somebody come?
road-nobody-farm = Nobody opens at { $buyer }. They have been written to.
