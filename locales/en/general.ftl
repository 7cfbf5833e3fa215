# The language itself: its own name for the choice of language, and the CLDR locale its numbers and dates follow.
language-name = English
language-formats = en-US

# Shapes of values. They stand inside other messages, so no markup here.
format-between = between { $low } and { $high }
format-day-time = { $day } at { $time }
format-percent = { $number }%
format-money =
    { $currency ->
        [USD] ${ $amount }
        [EUR] €{ $amount }
       *[other] { $currency } { $amount }
    }

day-yesterday = yesterday
day-today = today
day-tomorrow = tomorrow

# A person the farm does not know.
stranger = Hello! This is the ordering chat of { $farm }. To join, ask the farm for an invitation link.
stranger-too-often = That was too often. Please try again in an hour, or ask the farm for an invitation link.
too-much-at-once = Over { $most } messages from you in a minute: I have stopped reading for a minute. This one and what comes now is not done, all before it is. Please look at what stands, then send the rest again.
unknown-command = I don't know that command. Send /help to see what I can do.
not-for-your-role = That is not yours to do here. If it should be, please ask the farm.
stale-button = That button is out of date. Please use my newest message.
went-wrong = Something went wrong on our side, and nothing was changed. Please try again in a minute.

button-yes = Yes
button-no = No
button-settings = Language and units
button-help = Help
not-understood = I did not understand that. Send /help to see what you can write.
timetable-missed = I was not running on { $at }, so this was not done: { $job }. Please look after it yourselves.
timetable-given-up = This kept failing until it was too late ({ $at }): { $job }. Please look after it yourselves.
timetable-aside = This keeps failing, so I have set it aside: { $job } ({ $at }). Everything else goes on, and I try it again every six hours. Whoever looks after the program finds the reason with “pinset check”.
job-name = { $job ->
    [cutoff] closing the orders
    [picking] the picking reminder
    [packing] the packing list
    [count] counting what is left
    [morning] the morning message
    [tidying] tidying up
    [early_warning] looking ahead for shortages
    [answers_end] ending the time to answer
    [pack_assume] counting as packed what nobody called packed
    [run_ask] asking how the run went
    [run_assume] counting a run as delivered
    [offer_wave] offering to the next restaurants
    [offer_end] ending an offer
    [collect_end] asking what was collected
    [along_end] asking what went along with the delivery
    [drop_fill_eve] filling a regular drop-off
    [drop_fill_leave] filling a regular drop-off
    [drop_answer_end] ending a food bank’s time to answer
    [drop_eve] the evening reminder of a drop-off
    [drop_leave] the reminder to leave for a drop-off
    [drop_close] asking how a drop-off went
   *[other] { $job }
}
trouble-unreachable = { $name } cannot be reached here any more: the chat is blocked or gone. Please call.
trouble-refused = A message to { $name } could not be delivered. Please call.
trouble-backup = The scheduled backup could not be written. Please look at the machine I run on: the disk may be full or the folder gone.
trouble-clock-ahead = The clock of the machine I run on is fast by about { $minutes ->
        [one] one minute
       *[other] { $minutes } minutes
    }. I go by the messaging service’s time; please set the clock.
trouble-clock-behind = The clock of the machine I run on is slow by about { $minutes ->
        [one] one minute
       *[other] { $minutes } minutes
    }. I go by the messaging service’s time; please set the clock.
trouble-webhook = Somebody else who has my token has taken the connection for messages away from me. I have put it back and nothing is lost. If it was none of you, get a new token for me: whoever has it can read what is written to me.
outage-over = I could not reach the messaging service from { $from } until { $to }.
outage-nothing-waited = No message had to wait.
outage-waited =
    { $messages ->
        [one] One message waited and goes out now.
       *[other] { $messages } messages waited and go out now.
    }
outage-left-out =
    { $messages ->
        [one] One message to { $name } would have come too late, so I did not send it.
       *[other] { $messages } messages to { $name } would have come too late, so I did not send them.
    }
amount-of = { $weight } { crop-of }
# The crop behind a weight, in the form a language wants there.
crop-of = { $crop }
