### The words of the panel in German.
###
### A message has one text, and shorter ones as attributes: `.short`, then `.least`. A drawing takes the first that fits.
### Verbs that ask for an act stand first and in capitals, nothing else does. Nobody is addressed: a key says what it does
### (`Knopf: zurück`), a call says what is to be done (`WENDEN: …`).
###
### Words that are always the same: lane = Platz, trial = Versuch, record = Protokoll, probe = Fühler, knob = Knopf,
### hold (a step) = Pause, hold (a key) = halten, check window = Prüfzeit, lost = weg, kept = gesichert, food = Gargut.

## Keys

key-start = START
key-ok = OK
key-done = FERTIG
    .short = ENDE
key-yes = JA
# The lane key with its word: `Taste 1: FERTIG`.
button-key = Taste { $lane }: { $word }
    .short = { $lane }: { $word }
button-start = Taste 1: START
    .short = 1: START
button-lane-yes = Taste 1-4: JA
    .short = 1-4: JA
# The two answers to a question.
answer-yes = { $lane }  JA
answer-no = Knopf  NOCH NICHT
    .short = NOCH NICHT

## The knob

knob-menu = Knopf: Menü
    .short = Menü
knob-back = Knopf: zurück
    .short = zurück
knob-open = Knopf: öffnen
    .short = öffnen
knob-close = Knopf: schließen
    .short = schließen
knob-tick = Knopf: abhaken
    .short = abhaken
knob-next = Knopf: weiter
    .short = weiter
knob-skip = Knopf: auslassen
    .short = auslassen
knob-change = Knopf: ändern
    .short = ändern
knob-done = Knopf: fertig
    .short = fertig
knob-save = Knopf: sichern
    .short = sichern
knob-end = Knopf: beenden
    .short = beenden
knob-go-on = Knopf: weiter
    .short = weiter
knob-use-time = Knopf: nach Zeit
    .short = nach Zeit
knob-not-yet = Knopf: NOCH NICHT
    .short = NOCH NICHT
knob-later = Knopf: 1 min später
    .short = 1 min später
    .least = später
knob-hold = Knopf: PAUSE
    .short = PAUSE
knob-hold-on = Knopf: WEITER
    .short = WEITER
knob-over = Knopf: ZU WEIT
    .short = ZU WEIT
knob-start-anyway = Knopf: START
    .short = START
knob-seen = Knopf: gesehen
    .short = gesehen
knob-do-it = Knopf: ausführen
    .short = ausführen
knob-early = Knopf: vorzeitig
    .short = vorzeitig
knob-skip-step = Knopf: AUSLASSEN
    .short = AUSLASSEN
knob-stop-lane = Knopf: STOPP
    .short = STOPP
knob-give-up = Knopf: AUFGEBEN
    .short = AUFGEBEN
knob-other-stage = Knopf: nächstes
    .short = nächstes
knob-yes-to-all = Knopf: JA für alle
    .short = JA für alle
knob-is-off = Knopf: { $food } ist aus
    .short = { $food } aus
    .least = ist aus
knob-take-plan = Knopf: annehmen
    .short = annehmen
knob-keep-plan = Knopf: alter Plan
    .short = alter Plan
knob-forget = Knopf: löschen
    .short = löschen
knob-to-boiling = Knopf: kochend
    .short = kochend
knob-to-ice = Knopf: Eiswasser
    .short = Eiswasser
knob-time = Knopf: { $change }
    .short = { $change }
turn-choose = Drehen: wählen
    .short = drehen
turn-keep-old = Drehen: alter Plan
    .short = drehen: alt
turn-scroll = Drehen: blättern
    .short = drehen
turn-set = Drehen: einstellen
    .short = drehen
hold-reopen = Halten: öffnen
    .short = lang: öffnen
hold-undo = Halten: rückgängig
    .short = lang: zurück
any-key-test = Jede Taste: Test
    .short = Taste: Test

## Acts that lose something

keep = BEHALTEN
skip = AUSLASSEN
stop = STOPP
give-up = AUFGEBEN
forget = LÖSCHEN
nothing-lost = Noch ist nichts weg
    .short = nichts weg
skip-this = Schritt auslassen:
    .short = Auslassen:
stop-this = Platz stoppen:
    .short = Stoppen:
give-up-this = Versuch aufgeben:
    .short = Aufgeben:
forget-check = Prüfung löschen:
    .short = Löschen:
keep-hint = 3 Rasten nach rechts, Drücken behält
    .short = 3 Rasten nach rechts
push-the-knob = Knopf drücken

## Verbs of a recipe, as the recipe check fills them in or a cook writes them

verb-take-out = ENTNEHMEN
    .short = HERAUS
verb-off-heat = VOM HERD
verb-check = PRÜFEN
verb-start = STARTEN
verb-turn = WENDEN
verb-stir = RÜHREN
verb-add = ZUGEBEN
verb-rest = RUHEN LASSEN
    .short = RUHEN
verb-probe = MESSEN
verb-back-on-heat = WEITERGAREN
    .short = GAREN
# The food stands behind its verb.
call = { $verb }: { $food }
probe-place = Stelle { $place } von { $of }
    .short = { $place } von { $of }

## What comes next

next = Dann: { $what }
next-at = Dann: { $what } um { $time }
    .short = { $what } um { $time }
next-to = Bis { $target }: { $what }
    .short = { $target }: { $what }
next-take-out = { $food } entnehmen
next-off-heat = { $food } vom Herd
next-check = { $food } prüfen
next-turn = { $food } wenden
next-stir = { $food } rühren
next-add = { $food } zugeben
next-rest = { $food } ruhen lassen
next-start = { $step } starten
next-finish = { $step } beenden
next-look = prüfen: { $cue }
    .short = prüfen
nothing-is-due = Nichts ist fällig
when-done = Wenn { $step } fertig ist: Taste { $lane }
    .short = Wenn fertig: Taste { $lane }

## The line at the top

all-done-at = Alles fertig { $time }
    .short = fertig { $time }
all-done-in = Alles fertig in { $left }
    .short = fertig in { $left }
need-you = { $count } warten
undo-hold = Halten: rückgängig
    .short = lang: zurück
power-was-off = Strom war weg
    .short = Strom weg
step-of = Schritt { $step } von { $of }
    .short = { $step }/{ $of }

## Beside and under numbers

left = Restzeit
    .short = noch
# The large figures have letters for few words, so the short form is a number there.
now = jetzt
    .short = 0:00
done = fertig
    .short = ende
later = später
was-lost = war weg
# In the line at the top, with the name of the place.
was-lost-at = { $lane }: Fühler war weg
    .short = { $lane }: war weg
until-it-can-start = bis zum möglichen Start
    .short = bis zum Start
waits-for-another = wartet auf anderen Schritt
    .short = wartet
left-to-start = bleibt zum Starten
    .short = zum Starten
ready-to-start = bereit zum Starten
    .short = bereit
left-ends-at = Restzeit, Ende um { $time }
    .short = Ende { $time }
runs-for = läuft seit { $span }
    .short = seit { $span }
left-on-hold = Restzeit, in Pause seit { $span }
    .short = Pause seit { $span }
until-window-closes = bis zum Ende der Prüfzeit
    .short = Prüfzeit läuft
call-at = { $call } um { $time }
    .short = { $call }
still-cooking = gart es noch?
done-at = fertig um { $time }
lost-since = weg, { $what }
    .short = Fühler weg
probe-lost = Fühler weg
fan = Umluft
stirred-next = { $what } in { $left }
    .short = in { $left }

## Probes

# A reading at its target that counts as less, since the probe may be off.
counts-as = Zählt bisher als { $core }: der Fühler kann abweichen
    .short = zählt als { $core }

probe-lost-title = FÜHLER WEG
probe-lost-row = Fühler weg
no-reading-so-far = noch kein Messwert
    .short = kein Messwert
ago-at = vor { $span } noch { $reading }
    .short = war { $reading }
ago-at-rising = vor { $span } noch { $reading }, steigend
    .short = war { $reading }
ago-at-falling = vor { $span } noch { $reading }, fallend
    .short = war { $reading }
ago-at-steady = vor { $span } noch { $reading }, gleich
    .short = war { $reading }
a-minute = { $slope } je Minute
    .short = { $slope }/min
target = bis { $target }
target-and-slope = bis { $target }, { $slope } je Minute
    .short = bis { $target } { $slope }
# In a rest: what the core still has to come to, how high it came and what was said before.
rest-of = von { $target }
core-at = Kern { $core }
    .short = { $core }
peak-so-far = Höchstwert bisher { $peak }
    .short = Höchstwert { $peak }
peak-and-said = Höchstwert bisher { $peak }, erwartet { $said } ({ $low } bis { $high })
    .short = bisher { $peak }, erwartet { $said } ({ $low } bis { $high })
said-peak = erwarteter Höchstwert { $said } ({ $low } bis { $high })
    .short = erwartet { $said } ({ $low } bis { $high })
core-under = { $core }, unter { $target }
    .short = unter { $target }
under = unter { $target }
rest-under = { $core }, unter { $target }: weitergaren
    .short = unter { $target }: weitergaren
    .least = unter { $target }
rest-left-at = noch { $left }, Ende um { $time }
    .short = noch { $left }
rest-left = noch { $left }
held-of = { $span } von { $of } gehalten
places-held = { $held } von { $of } Stellen gehalten, nächste messen
    .short = { $held }/{ $of }, nächste messen
about-to = noch etwa { $time } bis { $target }
    .short = etwa { $time }
about-range = etwa { $time } bis { $target } ({ $low } bis { $high })
    .short = etwa { $time } ({ $low } bis { $high })
    .least = { $time } ({ $low } bis { $high })
# In the band, beside a large number of minutes.
about = etwa
    .short = ca.
range = { $low } bis { $high }
withheld-early = zu früh, Schätzung folgt
    .short = zu früh
withheld-no-rise = kaum wärmer: Fühlerspitze im Gargut?
    .short = Spitze im Gargut?
withheld-thawing = taut noch, Schätzung folgt
    .short = taut noch
withheld-may-not = Ziel bei dieser Hitze fraglich
    .short = Ziel fraglich
withheld-no-reading = kein Messwert: Stecker prüfen
    .short = kein Messwert
# What the core would come to.
taken-now = Jetzt entnommen: bis { $peak } in { $time } ({ $low } bis { $high })
    .short = jetzt: { $peak } in { $time } (von { $low } bis { $high })
take-at = Bei etwa { $core } entnehmen, kommt in der Ruhe auf { $target }
    .short = bei { $core } entnehmen, ruht bis { $target }
comes-in-rest = kommt in der Ruhe auf { $target }
    .short = Ruhe bis { $target }
call-to-rest = { $call }, kommt in der Ruhe auf { $target }
    .short = { $call }, ruht bis { $target }
    .least = { $call }
# How far a reading is believed.
doubt-settling = Fühler stellt sich ein
    .short = stellt sich ein
doubt-jumped = Messwert sprang, wird beobachtet
    .short = Messwert sprang
doubt-noisy = Messwert unruhig: Stecker prüfen
    .short = unruhig: Stecker?
doubt-never-moved = seit dem Einstechen unverändert
    .short = noch unverändert
doubt-too-hot = heißer als das Gargut sein kann: steckt die Spitze darin?
    .short = zu heiß: Spitze im Gargut?
doubt-old = letzter Messwert vor { $age }
    .short = vor { $age }
doubt-pulled-out = ändert sich schneller als Gargut: herausgezogen?
    .short = herausgezogen?
reading-age = vor { $age }
shallow-tip = Spitze wohl zu nah an der Oberfläche: zur Mitte schieben
    .short = Spitze zu flach: tiefer schieben

## The check window

look-range-min = prüfen { $from } bis { $to } min
look-range = prüfen { $from } bis { $to }
now-at = jetzt { $span }

## Start

starting-keys = Tasten
starting-lamps = Lampen
starting-sound = Ton
starting-panel = Anzeige
starting-probe = Fühler { $name }
starting-record = Protokoll
keys-free = alle frei
key-stuck = { $key } klemmt
    .short = klemmt
key-lane = Taste { $lane }
key-knob = Knopf
key-pedal = Pedal
not-there = fehlt
not-set-up = nicht eingerichtet
    .short = ohne
works = in Ordnung
    .short = gut
# Lamp and beeps of a lane during the self test.
testing-lane = Platz { $lane } von 4
    .short = { $lane } von 4
trials-kept = { $count ->
    [one] 1 Versuch
   *[other] { $count } Versuche
}
    .short = { $count }
disk-full = Speicher voll
    .short = voll

## Choosing a recipe

recipes = Rezepte
choose-recipe = Rezept wählen
    .short = Rezepte
no-recipes = Keine Rezepte vorhanden
    .short = Keine Rezepte
of-count = { $at } von { $of }
trial-new = neu
trial-count = { $count ->
    [one] 1 Versuch
   *[other] { $count } Versuche
}
    .short = { $count }
refused-errors = { $count ->
    [one] abgelehnt: 1 Fehler
   *[other] abgelehnt: { $count } Fehler
}
    .short = abgelehnt
refused-unreadable = nicht lesbar
    .short = unlesbar
updating = liest neu

## The check before a trial

check-title = Vorab prüfen: { $recipe }
in-order = { $count } von { $of } bereit
    .short = { $count }/{ $of }
# When the dishes of a trial are wanted: a time of day, `in 45 min`, or as it comes. Below it what the plan says.
ready-at = Fertig um
ready-in = Fertig
ready-at-of = Fertig um: { $title }
    .short = Fertig um
as-it-comes = wie es kommt
    .short = --
plan-first = zuerst: { $what }
    .short = 1. { $what }
back-to-recipes = Zurück zu den Rezepten
    .short = zurück
oven-at = { $oven } auf { $setting }
found-hot = heiß
found-not-hot = noch nicht heiß: { $reading }
    .short = { $reading }
found-no-signal = kein Signal
    .short = kein Wert
found-not-said = selbst nachsehen
    .short = nachsehen
probe-called = Fühler { $name }
ingredients-in = { $count } Zutaten

## The menu

menu = Menü
food-goes-on = Gargut gart weiter
    .short = gart weiter
back-to-board = Zurück zur Übersicht
    .short = zurück
another-recipe = Weiteres Rezept starten
    .short = weiteres Rezept
quiet-row = Stumm: nur Lampen
    .short = stumm
on = an
off = aus
give-up-row = Aufgeben: { $title }
settings = Einstellungen
    .short = Einstellen
back = Zurück

## After a power cut

off-clocks-went-on = weg. Uhren liefen weiter.
    .short = weg
or-more-check-each = oder mehr. Alles prüfen.
    .short = oder mehr
still-cooking-question = Gart es noch?
to-answer = { $count } zu beantworten
    .short = { $count } offen

## The plan moved

plan-moved = Plan verschoben
    .short = neuer Plan
plan-late = Alles fertig { $shift } später
    .short = { $shift } später
plan-early = Alles fertig { $shift } früher
    .short = { $shift } früher
plan-lands-late = Essen { $shift } später
    .short = { $shift } später
plan-lands-early = Essen { $shift } früher
    .short = { $shift } früher
plan-cannot-fit = Es passt nicht mehr
    .short = passt nicht mehr
plan-from-to = { $was } → { $now }
# Was nicht alles zugleich geht. When: `um 18:20`, `zugleich`.
cannot-cooks = { $count ->
    [one] 1 Koch { $moment } nötig
   *[other] { $count } Köche { $moment } nötig
}
    .short = { $count } Köche { $moment }
cannot-ovens = { $count ->
    [one] 1 Ofen { $moment } nötig
   *[other] { $count } Öfen { $moment } nötig
}
    .short = { $count } Öfen { $moment }
cannot-shelves = { $count ->
    [one] 1 Schiene im Ofen { $moment } nötig
   *[other] { $count } Schienen im Ofen { $moment } nötig
}
    .short = { $count } Schienen { $moment }
cannot-microwaves = { $count ->
    [one] 1 Mikrowelle { $moment } nötig
   *[other] { $count } Mikrowellen { $moment } nötig
}
    .short = { $count } Mikros { $moment }
cannot-burners = { $count ->
    [one] 1 Platte { $moment } nötig
   *[other] { $count } Platten { $moment } nötig
}
    .short = { $count } Platten { $moment }
cannot-two-heats = Ofen { $moment } auf zwei Stufen
    .short = zwei Ofenstufen { $moment }
    .least = zwei Stufen { $moment }
cannot-waits = { $food } wartet { $shift } zu lang
    .short = { $food } { $shift } zu lang
cannot-too-soon-at = { $time } ist zu früh
cannot-too-soon = zu früh gewünscht
cannot-apart = Gerichte { $shift } zu weit auseinander
    .short = Gerichte { $shift } getrennt
    .least = { $shift } getrennt
# Die kleinste Änderung, die hilft.
remedy-earliest = frühestens { $time }
remedy-earliest-in = frühestens in { $left }
remedy-cook = mit einem Koch mehr
remedy-oven = mit einem Ofen mehr
remedy-shelf = mit einer Schiene mehr im Ofen
    .short = mit einer Schiene mehr
remedy-microwave = mit einer Mikrowelle mehr
    .short = mit einer Mikro mehr
remedy-burner = mit einer Platte mehr
remedy-wait = { $food } { $shift } länger warten lassen
    .short = { $food } { $shift } länger warten
remedy-spread = Gerichte { $shift } auseinander
    .short = { $shift } auseinander

## The plan

plan-row = Plan: was wann beginnt
    .short = der Plan
plan-title = Der Plan
start-and-latest = Start { $start }, spätestens { $latest }
    .short = { $start }, bis { $latest }
start-only = Start um { $start }
can-wait = kann { $span } warten
no-slack = kein Spielraum
start-latest = { $start }, bis { $latest }
    .short = { $start }-{ $latest }
    .least = { $start }
start-no-slack = { $start }, ohne Luft
    .short = { $start }
start-in = in { $left }
lands-at = fertig { $time }
lands-in = fertig in { $left }
eight-in-ten = 8 von 10
wanted-at = gewünscht { $time }
    .short = statt { $time }
late-by = { $shift } zu spät
    .short = { $shift } spät
at-time-of-day = um { $time }
at-once = zugleich

## What to note after a trial

outcome-title = Wie wurde es?
    .short = Ergebnis
note-of = Notiz { $at } von { $of }
    .short = { $at }/{ $of }
weigh-what = Wiegen: { $what }
    .short = { $what }
score-what = { $what }
turn-to-note = drehen: notieren, drücken: auslassen
    .short = drehen oder weiter
digit-by-digit = drehen: Ziffer, drücken: nächste
    .short = drücken: nächste
later-is-fine = Ausgelassenes bleibt im Protokoll offen
    .short = bleibt sonst offen

## A saved trial

trial-saved = Versuch gesichert
    .short = gesichert
given-up = aufgegeben
kept-here = Auf diesem Gerät gesichert
    .short = Hier gesichert
kept-and-sent = Gesichert und gesendet
    .short = Gesichert, gesendet
disk-full-title = Speicher voll: Daten fehlen
    .short = Speicher voll!
free-room = Speicher freiräumen, dann öffnen
    .short = Speicher freiräumen
    .least = Platz schaffen
not-sent = nicht gesendet, später erneut
    .short = nicht gesendet
all-noted-at = alles notiert, Ende um { $time }
    .short = Ende { $time }
all-noted = alles notiert, beendet
    .short = alles notiert
still-to-note-at = noch { $count } zu notieren, Ende um { $time }
    .short = { $count } zu notieren
still-to-note = noch { $count } zu notieren, beendet
    .short = { $count } zu notieren
plan = Plan { $span }
    .short = { $span }

## Checking a probe

check-probe = Fühler { $name } prüfen
    .short = Fühler { $name }
in-ice-water = im Eiswasser: { $expected }
    .short = Eis { $expected }
in-boiling-water = in kochendem Wasser: { $expected }
    .short = kochend { $expected }
settling = stellt sich ein, noch { $span }
    .short = noch { $span }
steady = stabil seit { $span }
    .short = stabil
off-by = Abweichung { $by }
off-by-too-much = Abweichung { $by }: nicht damit garen
    .short = { $by } ist zu viel!
check-saved = gesichert, Abweichung { $by }
    .short = gesichert { $by }
check-no-signal = kein Signal: einstecken, warten
    .short = kein Signal
last-checked = geprüft { $when }
never-checked = nie geprüft
    .short = nie

## Joining a phone

join-title = Telefon verbinden
    .short = Telefon
join-scan = Einlesen oder öffnen
    .short = einlesen, öffnen
join-code = Code { $code }
join-left = noch { $span }
joined = { $name } ist verbunden
    .short = verbunden
join-ended = Beendet. Kein Zugang mehr.
    .short = beendet
join-no-network = Kein Netz. Zum Kochen reicht es so.
    .short = kein Netz

## Settings

set-sound = Lautstärke
    .short = Ton
set-brightness = Helligkeit
    .short = Licht
set-units = Temperatur
    .short = Einheit
set-language = Sprache
set-lamps = Lampen
set-speech = Ansage
set-lane = Platz { $lane }
set-probe = Fühler { $name }
set-join = Telefon verbinden
    .short = Telefon
level-of = { $level } von { $of }
celsius = °C
fahrenheit = °F
english = English
german = Deutsch
version = Version { $version }

## Cautions of a step: what can hurt

caution-steam = Dampf: vom Körper weg öffnen
caution-hot-fat = heißes Fett: trocken, vom Körper weg einlegen, dabeibleiben
    .short = heißes Fett: trocken einlegen, dabeibleiben
caution-superheated = Siedeverzug: stehen lassen, vor dem Anheben umrühren
    .short = Siedeverzug: warten, umrühren
caution-hot-handle = Form und Griffe heiß: trockenes Tuch an beide Hände
    .short = Griffe heiß: trockenes Tuch
caution-raw-meat = rohes Fleisch: eigenes Brett und Messer, Hände waschen
    .short = rohes Fleisch: Hände waschen
caution-raw-fish = roher Fisch: eigenes Brett und Messer, Hände waschen
    .short = roher Fisch: Hände waschen
caution-raw-egg = rohes Ei: kalt halten, Hände waschen
caution-hot-sugar = heißer Zucker klebt und verbrennt die Haut
caution-blade = scharfe Klinge: Finger weg
caution-allergen = Allergen: eigenes Brett, eigener Löffel, Gäste warnen
    .short = Allergen: eigenes Brett, Gäste warnen
caution-keep-hot = bei { $hot } oder mehr halten oder rasch abkühlen
    .short = halten bei { $hot } oder abkühlen

## Why a probe is lost

lost-no-signal = kein Signal
lost-no-answer = keine Antwort
lost-garbled = Antwort gestört
    .short = gestört
lost-wire = Kabel gebrochen oder lose
    .short = Kabel lose
lost-short = Kurzschluss
lost-out-of-range = außer Bereich
lost-not-measured = noch nicht gemessen
    .short = kein Messwert
lost-stuck = Wert steht fest
    .short = steht fest
lost-jumped = Messwert sprang
    .short = sprang
lost-why-and-last = { $why }, { $last }

## Orte: wie eine Spur heißen kann

place-oven = Ofen
place-micro = Mikro
place-pan = Pfanne
place-pot = Topf
place-bench = Tisch
place-fridge = Kühler
place-freezer = Froster
place-grill = Grill
place-steamer = Dampf

## Was gesprochen wird: höchstens vier Wörter, darunter der Name einer Spur in einem Wort und ihre Nummer

say-lane-1 = eins
say-lane-2 = zwei
say-lane-3 = drei
say-lane-4 = vier
say-call = { $name } { $lane }. { $verb }.
say-probe-lost = Fühler weg
say-due = fällig
say-look = nachsehen
say-still-cooking = noch an?

