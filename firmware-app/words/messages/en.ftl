### The words of the panel in English.
###
### A message has one text, and shorter ones as attributes: `.short`, then `.least`. A drawing takes the first that fits.
### Verbs that ask for an act stand first and in capitals, nothing else does.

## Keys

key-start = START
key-ok = OK
key-done = DONE
key-yes = YES
# The lane key with its word: `Key 1: DONE`.
button-key = Key { $lane }: { $word }
button-start = Key 1: START
button-lane-yes = Lane key: YES
# The two answers to a question.
answer-yes = { $lane }  YES
answer-no = Knob  NOT YET
    .short = NOT YET

## The knob

knob-menu = Knob: menu
knob-back = Knob: back
    .short = back
knob-open = Knob: open
    .short = open
knob-close = Knob: close
    .short = close
knob-tick = Knob: tick
    .short = tick
knob-next = Knob: next
    .short = next
knob-skip = Knob: skip
    .short = skip
knob-change = Knob: change
    .short = change
knob-done = Knob: done
    .short = done
knob-save = Knob: save
    .short = save
knob-end = Knob: end
    .short = end
knob-go-on = Knob: go on
    .short = go on
knob-use-time = Knob: use time
    .short = use time
knob-not-yet = Knob: NOT YET
    .short = NOT YET
knob-later = Knob: later 1 min
    .short = later
knob-hold = Knob: HOLD
    .short = HOLD
knob-hold-on = Knob: GO ON
    .short = GO ON
knob-over = Knob: OVER
    .short = OVER
knob-start-anyway = Knob: START
    .short = START
knob-seen = Knob: seen
    .short = seen
knob-do-it = Knob: do it
    .short = do it
knob-early = Knob: early
    .short = early
knob-skip-step = Knob: SKIP
    .short = SKIP
knob-stop-lane = Knob: STOP
    .short = STOP
knob-give-up = Knob: GIVE UP
    .short = GIVE UP
knob-other-stage = Knob: other food
    .short = other
knob-yes-to-all = Knob: YES to all
    .short = YES all
knob-is-off = Knob: { $food } is off
    .short = { $food } off
    .least = is off
knob-take-plan = Knob: take it
    .short = take it
knob-keep-plan = Knob: keep old
    .short = keep old
knob-time = Knob: { $change }
    .short = { $change }
turn-choose = Turn: choose
    .short = turn
turn-keep-old = Turn: keep old
    .short = turn: old
turn-scroll = Turn: scroll
    .short = turn
turn-set = Turn: set
    .short = turn
hold-reopen = Hold: reopen
hold-undo = Hold: undo
any-key-test = Any key: test
    .short = keys: test

## Acts that lose something

keep = KEEP
skip = SKIP
stop = STOP
give-up = GIVE UP
forget = FORGET
nothing-lost = Nothing is lost yet
skip-this = Skip this step:
    .short = Skip:
stop-this = Stop this lane:
    .short = Stop:
give-up-this = Give the trial up:
    .short = Give up:
forget-check = Forget the check:
    .short = Forget:
keep-hint = Turn right 3 clicks, or push to keep
    .short = turn 3, push keeps
push-the-knob = Push the knob

## Verbs of a recipe, as the recipe check fills them in or a cook writes them

verb-take-out = TAKE OUT
verb-off-heat = OFF HEAT
verb-check = CHECK
verb-start = START
verb-turn = TURN
verb-stir = STIR
verb-add = ADD
verb-rest = REST
verb-probe = PROBE
verb-back-on-heat = BACK ON HEAT
    .short = COOK ON
# The food stands behind its verb.
call = { $verb } { $food }
probe-place = place { $place } of { $of }
    .short = { $place } of { $of }

## What comes next

next = Next: { $what }
next-at = Next: { $what } at { $time }
    .short = { $what } at { $time }
next-to = To { $target }: { $what }
next-take-out = take out { $food }
next-off-heat = off heat { $food }
next-check = check { $food }
next-turn = turn { $food }
next-stir = stir { $food }
next-add = add { $food }
next-rest = rest { $food }
next-start = start { $step }
next-finish = finish { $step }
next-look = look: { $cue }
    .short = look
nothing-is-due = Nothing is due
when-done = When { $step } is done: key { $lane }
    .short = When done: key { $lane }

## The line at the top

all-done-at = All done { $time }
    .short = done { $time }
all-done-in = All done in { $left }
    .short = done in { $left }
need-you = { $count } need you
undo-hold = Undo: hold knob
power-was-off = Power was off
step-of = step { $step } of { $of }
    .short = { $step }/{ $of }

## Beside and under numbers

left = left
now = now
done = done
later = later
was-lost = was lost
# In the line at the top, with the name of the place.
was-lost-at = { $lane }: probe was lost
    .short = { $lane }: was lost
until-it-can-start = until it can start
    .short = to start
waits-for-another = waits for another step
    .short = waits
left-to-start = left to start it
    .short = to start
ready-to-start = ready to start
    .short = ready
left-ends-at = left, ends at { $time }
    .short = ends { $time }
runs-for = runs for { $span }
    .short = for { $span }
left-on-hold = left, on hold for { $span }
    .short = on hold { $span }
until-window-closes = until the check window closes
    .short = window open
call-at = { $call } at { $time }
    .short = { $call }
still-cooking = still cooking?
done-at = done at { $time }
lost-since = lost { $what }
    .short = probe lost
probe-lost = probe lost
fan = fan
stirred-next = { $what } in { $left }
    .short = next { $left }

## Probes

# A reading at its target that counts as less, since the probe may be off.
counts-as = Counts as { $core } so far: the probe may be off
    .short = counts as { $core }

probe-lost-title = PROBE LOST
probe-lost-row = Probe lost
no-reading-so-far = no reading so far
    .short = no reading
ago-at = { $span } ago at { $reading }
    .short = was { $reading }
ago-at-rising = { $span } ago at { $reading }, rising
    .short = was { $reading }
ago-at-falling = { $span } ago at { $reading }, falling
    .short = was { $reading }
ago-at-steady = { $span } ago at { $reading }, steady
    .short = was { $reading }
a-minute = { $slope } a minute
    .short = { $slope }/min
target = to { $target }
target-and-slope = to { $target }, { $slope } a minute
    .short = to { $target } { $slope }
# In a rest: what the core still has to come to, how high it came and what was said before.
rest-of = of { $target }
core-at = core { $core }
    .short = { $core }
peak-so-far = highest so far { $peak }
    .short = highest { $peak }
peak-and-said = highest so far { $peak }, said { $said } ({ $low } to { $high })
    .short = peak { $peak }, said { $said } ({ $low } to { $high })
said-peak = said to peak at { $said } ({ $low } to { $high })
    .short = said { $said } ({ $low } to { $high })
core-under = { $core }, under { $target }
    .short = under { $target }
under = under { $target }
rest-under = { $core }, under { $target }: back on the heat
    .short = under { $target }: back on heat
    .least = under { $target }
rest-left-at = { $left } left, ends at { $time }
    .short = { $left } left
rest-left = { $left } left
held-of = held { $span } of { $of }
places-held = { $held } of { $of } places held, probe the next
    .short = { $held } of { $of }, probe next
about-to = about { $time } to { $target }
    .short = about { $time }
about-range = about { $time } to { $target } ({ $low } to { $high })
    .short = about { $time } ({ $low } to { $high })
    .least = { $time } ({ $low } to { $high })
# In the band, beside a large number of minutes.
about = about
    .short = abt
range = { $low } to { $high }
withheld-early = too early, an estimate follows
    .short = too early
withheld-no-rise = hardly warmer: tip in the food?
    .short = tip in food?
withheld-thawing = thawing, an estimate follows
    .short = thawing
withheld-may-not = may not get there at this heat
    .short = may not reach
withheld-no-reading = no reading: check the plug
    .short = no reading
# What the core would come to.
taken-now = If taken now: peak { $peak } in { $time } ({ $low } to { $high })
    .short = now: { $peak } in { $time } (from { $low } to { $high })
take-at = Take at about { $core }, comes to { $target } in the rest
    .short = take at { $core }, rests to { $target }
comes-in-rest = comes to { $target } in the rest
    .short = to { $target } in rest
call-to-rest = { $call }: comes to { $target } in the rest
    .short = { $call }: { $target } in the rest
    .least = { $call }
# How far a reading is believed.
doubt-settling = probe settling
    .short = settling
doubt-jumped = reading jumped, watching it
    .short = reading jumped
doubt-noisy = reading unsteady: check the plug
    .short = unsteady: check plug
doubt-never-moved = has not moved since it went in
    .short = has not moved yet
doubt-too-hot = hotter than the food can be: is the tip in it?
    .short = too hot: tip in the food?
doubt-old = last reading { $age } ago
    .short = { $age } old
doubt-pulled-out = moves faster than food can: pulled out?
    .short = pulled out?
reading-age = { $age } old
shallow-tip = Tip may sit too near the surface: push it to the middle
    .short = tip near the surface: push it in

## The check window

look-range-min = look { $from } to { $to } min
look-range = look { $from } to { $to }
now-at = now { $span }

## Start

starting-keys = Keys
starting-lamps = Lamps
starting-sound = Sound
starting-panel = Panel
starting-probe = Probe { $name }
starting-record = Record
keys-free = all free
key-stuck = { $key } stuck
    .short = stuck
key-lane = key { $lane }
key-knob = knob
key-pedal = pedal
not-there = not there
not-set-up = none set up
    .short = none
works = works
# Lamp and beeps of a lane during the self test.
testing-lane = lane { $lane } of 4
trials-kept = { $count ->
    [one] 1 trial kept
   *[other] { $count } trials kept
}
    .short = { $count }
disk-full = disk full

## Choosing a recipe

recipes = Recipes
choose-recipe = Choose a recipe
no-recipes = No recipes here
of-count = { $at } of { $of }
trial-new = new
trial-count = { $count ->
    [one] 1 trial
   *[other] { $count } trials
}
    .short = { $count }
refused-errors = { $count ->
    [one] refused: 1 error
   *[other] refused: { $count } errors
}
    .short = refused
refused-unreadable = cannot be read
    .short = unreadable
updating = updating

## The check before a trial

check-title = Check: { $recipe }
in-order = { $count } of { $of } in order
    .short = { $count }/{ $of }
# When the dishes of a trial are wanted: a time of day, `in 45 min`, or as it comes. Below it what the plan says.
ready-at = Ready at
ready-in = Ready
ready-at-of = Ready at: { $title }
    .short = Ready at
as-it-comes = as it comes
    .short = --
plan-first = first: { $what }
    .short = 1st { $what }
back-to-recipes = Back to the recipes
    .short = back
oven-at = { $oven } at { $setting }
found-hot = hot
found-not-hot = not hot yet: { $reading }
    .short = { $reading }
found-no-signal = no signal
found-not-said = look for yourself
    .short = look
probe-called = Probe { $name }
ingredients-in = { $count } ingredients

## The menu

menu = Menu
food-goes-on = food goes on cooking
    .short = goes on cooking
back-to-board = Back to the board
    .short = back
another-recipe = Start another recipe
    .short = another recipe
quiet-row = Quiet: lamps and panel
    .short = quiet
on = on
off = off
give-up-row = Give up { $title }
settings = Settings

## After a power cut

off-clocks-went-on = off. Clocks went on.
    .short = off
or-more-check-each = or more. Check each.
    .short = or more
still-cooking-question = Still cooking?
to-answer = { $count } to answer
    .short = { $count } open

## The plan moved

plan-moved = Plan moved
plan-late = All done { $shift } later
    .short = { $shift } later
plan-early = All done { $shift } earlier
    .short = { $shift } earlier
plan-lands-late = Lands { $shift } later
    .short = { $shift } later
plan-lands-early = Lands { $shift } earlier
    .short = { $shift } earlier
plan-cannot-fit = It no longer fits
    .short = no longer fits
plan-from-to = { $was } → { $now }
# What cannot all be had. When: `at 18:20`, `at once`.
cannot-cooks = { $count ->
    [one] 1 cook wanted { $moment }
   *[other] { $count } cooks wanted { $moment }
}
    .short = { $count } cooks { $moment }
cannot-ovens = { $count ->
    [one] 1 oven wanted { $moment }
   *[other] { $count } ovens wanted { $moment }
}
    .short = { $count } ovens { $moment }
cannot-shelves = { $count ->
    [one] 1 oven shelf wanted { $moment }
   *[other] { $count } oven shelves wanted { $moment }
}
    .short = { $count } shelves { $moment }
cannot-microwaves = { $count ->
    [one] 1 microwave wanted { $moment }
   *[other] { $count } microwaves wanted { $moment }
}
    .short = { $count } micros { $moment }
cannot-burners = { $count ->
    [one] 1 burner wanted { $moment }
   *[other] { $count } burners wanted { $moment }
}
    .short = { $count } burners { $moment }
cannot-two-heats = oven wanted at two heats { $moment }
    .short = two oven heats { $moment }
cannot-waits = { $food } waits { $shift } too long
    .short = { $food } { $shift } too long
cannot-too-soon-at = { $time } is too soon
cannot-too-soon = wanted too soon
cannot-apart = dishes { $shift } too far apart
    .short = dishes { $shift } apart
# The least change that helps.
remedy-earliest = earliest { $time }
remedy-earliest-in = earliest in { $left }
remedy-cook = with one more cook
remedy-oven = with one more oven
remedy-shelf = with one more oven shelf
    .short = with one more shelf
remedy-microwave = with one more microwave
    .short = with one more micro
remedy-burner = with one more burner
remedy-wait = let { $food } wait { $shift } more
    .short = { $food } waits { $shift } more
remedy-spread = let dishes land { $shift } apart
    .short = land { $shift } apart

## The plan

plan-row = Plan: what starts when
    .short = the plan
plan-title = Plan
# On the page of a lane: `start 18:02, latest 18:06`, and how long it can wait.
start-and-latest = start { $start }, latest { $latest }
    .short = { $start }, latest { $latest }
start-only = start { $start }
can-wait = can wait { $span }
no-slack = no slack
# In the list, beside a step.
start-latest = { $start }, latest { $latest }
    .short = { $start }, by { $latest }
    .least = { $start }
start-no-slack = { $start }, no slack
    .short = { $start }
start-in = in { $left }
# In the list, a landing: `lands 18:45`, `8 in 10` from when to when, `5 min late`, `wanted 18:40`.
lands-at = lands { $time }
lands-in = lands in { $left }
eight-in-ten = 8 in 10
wanted-at = wanted { $time }
    .short = for { $time }
late-by = { $shift } late
# When something is wanted too often.
at-time-of-day = at { $time }
at-once = at once

## What to note after a trial

outcome-title = How did it turn out?
    .short = Outcome
note-of = note { $at } of { $of }
    .short = { $at }/{ $of }
weigh-what = Weigh: { $what }
    .short = { $what }
score-what = { $what }
turn-to-note = turn to note, push to skip
    .short = turn or skip
digit-by-digit = turn: digit, push: next digit
    .short = push: next digit
later-is-fine = what is skipped stays open
    .short = skipped stays open

## A saved trial

trial-saved = trial saved
    .short = saved
given-up = given up
kept-here = Kept on this device
    .short = Kept here
kept-and-sent = Kept and sent
disk-full-title = Disk full: not all is kept
    .short = Disk full!
free-room = free some room, then reopen
    .short = free some room
not-sent = not sent, will try again
    .short = not sent yet
all-noted-at = all noted, over at { $time }
    .short = over { $time }
all-noted = all noted, over
    .short = all noted
still-to-note-at = { $count } still to note, over at { $time }
    .short = { $count } to note
still-to-note = { $count } still to note, over
    .short = { $count } to note
plan = plan { $span }
    .short = { $span }

## Checking a probe

check-probe = Check probe { $name }
    .short = Probe { $name }
in-ice-water = in ice water: { $expected }
    .short = ice { $expected }
in-boiling-water = in boiling water: { $expected }
    .short = boiling { $expected }
settling = settling, { $span } to go
    .short = settling { $span }
steady = steady for { $span }
    .short = steady
off-by = off by { $by }
off-by-too-much = off by { $by }: do not cook with it
    .short = off by { $by }!
check-saved = saved, off by { $by }
    .short = saved { $by }
check-no-signal = no signal: plug, then wait
    .short = no signal
last-checked = checked { $when }
never-checked = never checked
    .short = never

## Joining a phone

join-title = Join a phone
join-scan = Scan, or open
join-code = Code { $code }
join-left = { $span } left
joined = { $name } has joined
    .short = joined
join-ended = Ended. Nobody can join now.
    .short = ended
join-no-network = No network here. Cooking needs none.
    .short = no network

## Settings

set-sound = Sound level
    .short = Sound
set-brightness = Brightness
    .short = Bright
set-units = Temperature
    .short = Unit
set-language = Language
set-lamps = Lamps
set-speech = Speech
set-lane = Lane { $lane }
set-probe = Probe { $name }
set-join = Join a phone
    .short = Join
level-of = { $level } of { $of }
celsius = °C
fahrenheit = °F
english = English
german = Deutsch
version = version { $version }

## Cautions of a step: what can hurt

caution-steam = steam: open away from you
caution-hot-fat = hot fat: dry food, lay it in away from you, never leave it
caution-superheated = hot liquid can erupt: let it stand, stir before lifting
caution-hot-handle = hot tin and handles: dry cloth on both hands
caution-raw-meat = raw meat: own board and knife, wash hands
caution-raw-fish = raw fish: own board and knife, wash hands
caution-raw-egg = raw egg: keep cold, wash hands
caution-hot-sugar = hot sugar sticks and burns
caution-blade = sharp blade: fingers away
caution-allergen = allergen: own board and spoon, tell the table
caution-keep-hot = keep it at { $hot } or over, or cool it fast

## Added

knob-to-ice = Knob: use ice
    .short = use ice
knob-to-boiling = Knob: use boiling
    .short = use boiling
knob-forget = Knob: forget check
    .short = forget
back = Back

## Why a probe is lost

lost-no-signal = no signal
lost-no-answer = no answer
lost-garbled = garbled answer
    .short = garbled
lost-wire = broken wire or loose plug
    .short = loose plug
lost-short = short circuit
    .short = short
lost-out-of-range = out of range
lost-not-measured = not measured yet
    .short = no reading
lost-stuck = stuck at one value
    .short = stuck
lost-jumped = reading jumped
    .short = jumped
lost-why-and-last = { $why }, { $last }

## Places: what a lane can be called

place-oven = Oven
place-micro = Micro
place-pan = Pan
place-pot = Pot
place-bench = Bench
place-fridge = Fridge
place-freezer = Freezer
place-grill = Grill
place-steamer = Steamer

## What is spoken: at most four words, a lane's name of one word and its number among them

say-lane-1 = one
say-lane-2 = two
say-lane-3 = three
say-lane-4 = four
say-call = { $name } { $lane }. { $verb }.
say-probe-lost = probe lost
say-due = due
say-look = look
say-still-cooking = still cooking?

