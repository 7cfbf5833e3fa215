count-blocks =
    { $number ->
        [one] { $number } block
       *[other] { $number } blocks
    }
count-bags =
    { $number ->
        [one] { $number } bag
       *[other] { $number } bags
    }
command-shelves = What stands on the shelves
command-pick = Write down a pick
command-batch = Start a batch
button-shelves = Shelves
button-new-batch = New batch
button-earlier-page = ← Back
button-later-page = More →
button-pick = Picked…
button-pins = Pins today
button-last-pick = Flush is over
button-soaked-today = Soaked today
button-opened-today = Opened today
button-whole-soaked = Soaked { $units }
button-whole-opened = Opened { $units }
button-lost = Lost…
button-spent = Spent…
batch-name = { $crop }, { $units }, { $room }
batch-label-soaked = { $batch } (soaked { $day })
batch-label-opened = { $batch } (opened { $day })
batch-label-waiting = { $batch } (since { $day })
shelves-heading = <b>On the shelves</b>
shelves-empty = There is nothing on the shelves. Start a batch with /batch.
shelves-page = Page { $page } of { $pages }
shelf-heading = <b>{ $batch }</b>, batch { $place }, flush { $number } of { $flushes }
shelf-to-soak = To be soaked; here since: { $day }
shelf-to-open = To be opened; here since: { $day }
shelf-soaked = Soaked: { $day }
shelf-opened = Opened: { $day }
shelf-resting = Resting since: { $day }
shelf-pins = Pins: { $day }
shelf-picked = Picked so far: { $weight }
shelf-lost = Lost: { $units }
shelf-spent = Spent, off the shelves.
growing-nothing = All right, nothing was written down.
no-batch-of = There is no { $crop } on the shelves, so nothing was written down. Start a batch with /batch.
batch-is-spent = { $batch }: that batch is spent. Nothing was written down.
batch-unknown = I don't know that batch. Please choose one under /shelves.
batch-of-another-crop = { $batch }: that batch is not { $crop }. Nothing was written down.
which-batch = Which batch do you mean?
none-to-begin = Every batch of these has been soaked or opened already. See /shelves.
none-for-pins = None of these batches waits for pins. Write first when it was soaked or opened.
none-to-pick = Nothing was soaked or opened by that day, so there is nothing to pick and nothing was written down. Write first what was soaked or opened.
none-so-many = No batch has so many left. Nothing was written down.
not-soaked = { $batch } has not been soaked yet. Write first when it was soaked; nothing was written down.
not-opened = { $batch } has not been opened yet. Write first when it was opened; nothing was written down.
already-soaked = { $batch } was already soaked: { $day }. Nothing was changed.
already-opened = { $batch } was already opened: { $day }. Nothing was changed.
already-pins = { $batch }: pins are already written down, { $day }. Nothing was changed.
already-resting = { $batch } is resting. Write first when it was started again; nothing was written down.
day-to-come = { $day } is still to come. Nothing was written down for { $batch }; please check the day.
before-received = { $batch } came on this day: { $since }. { $day } was before that, so nothing was written down.
before-last-pick = { $batch }: the last pick of the flush before was { $since }. { $day } was before that, so nothing was written down.
before-soaked = { $batch } was soaked on this day: { $since }. { $day } was before that, so nothing was written down.
before-opened = { $batch } was opened on this day: { $since }. { $day } was before that, so nothing was written down.
whole-batch-soaked = A batch is soaked as a whole, and this one has { $units }: { $batch }. Were all of them soaked?
whole-batch-opened = A batch is opened as a whole, and this one has { $units }: { $batch }. Were all of them opened?
done-soaked = Written down: soaked.
done-opened = Written down: opened.
done-pins = Written down: pins.
done-lost = Written down: lost { $units }, { $day }.
done-undone = Taken back. It stands like this again:
done-last-pick = Flush { $number } is over: { $weight } in all. The batch rests now.
done-last-flush = Flush { $number } is over: { $weight } in all. That was the last one, so the batch is spent.
done-spent = Written down: spent.
undo-late = { $batch } has gone on since then, so this can no longer be taken back.
flush-undo-late = The batch has gone on since then, so this can no longer be taken back.
lost-question = How many were lost of { $batch }? Write the number or press one.
lost-too-many = There are only { $units } left. Nothing was written down; please check the number.
spent-question = { $batch }: is it spent? It leaves the shelves for good.
new-batch-crop = Of which mushroom?
new-batch-blocks = How many blocks? Write the number or press one.
new-batch-bags = How many bags? Write the number or press one.
new-batch-dry = { $units }. How much does the dry sawdust or straw in one weigh? Write it as <i>2 lb</i>, or wet with its moisture as <i>5 lb at 60 %</i>.
new-batch-dry-range = { $weight } dry in one cannot be right. Please write a weight between { $least } and { $most }.
new-batch-moisture-range = Please write the moisture as one number between 1 and 95, for example <i>5 lb at 60 %</i>.
new-batch-room = { $dry } dry in each. Which room? Write its name or press one.
new-batch-room-name = Please write a name for the room of at most { $most } characters. Nothing was written down.
batch-started = Written down: a new batch, { $dry } dry in each, received today.
batch-undone = Taken back: { $batch }. It is off the shelves.
weight-please = Please write a weight, for example <i>4 lb</i> or <i>1.8 kg</i>.
pick-where = What was picked?
pick-which-batch = From which batch: { $amount }?
pick-how-much = How much was picked of { $batch }? Write the weight or press one.
pick-too-little = That is too little. Please write at least { $least }; nothing was written down.
pick-too-heavy = That would make { $total } from { $batch }; it can give { $limit } at the very most. Nothing was written down; please check the scale.
pick-heavy-question = { $amount } from { $batch } makes more than its dry weight in one flush. Is that right?
pick-twice-question = { $amount } from { $batch } is already written down for that day. Is this another pick?
done-picked = Picked { $amount } ({ $batch }), { $day }.
done-picked-keeps = In the cold room. To be packed from: { $ready }. Keeps until: { $until }.
pick-undone = Taken back: { $amount }.
pick-undo-late = That was taken back already, or some of it has left the cold room. Nothing was changed.
button-warmth = Room temperature…
warmth-question = How warm is it in { $room }, in { $unit }? Write the number.
warmth-please = Please write a temperature, for example <i>58 F</i> or <i>14 °C</i>.
warmth-which-room = { $temperature }: in which room?
warmth-which-scale = { $room }: which scale is that?
warmth-unknown-room = No room on the shelves is called { $room }. Nothing was written down; which one do you mean?
warmth-range = { $temperature } cannot be right for a growing room. Please write something between { $least } and { $most }; nothing was written down.
warmth-done = Written down: { $room }, { $temperature } today. The forecast reckons with it.
warmth-days =
    { $days ->
        [one] At this warmth { $crop } takes about { $days } day to the first pick.
       *[other] At this warmth { $crop } takes about { $days } days to the first pick.
    }
warmth-too-cold = That is too cold for { $crop }, which fruits at { $low } to { $high }: it will be late, if it comes at all.
warmth-too-warm = That is too warm for { $crop }, which fruits at { $low } to { $high }: it comes no sooner and may suffer.
