package main

const usage = `usage: draw COMMAND [argument ...]

Makes and checks the draw of a giveaway. To check one, all you need is:

    $ draw verify https://slow-miles.example/g/trail-boots/fair/

For everybody:
    verify    check a publication, a folder or an address
    compare   look for two notes by one host that contradict each other
    find      where a ticket stands, and how to repeat its number by hand
    seal      lock a secret of your own, as a second holder

For the host, in this order:
    open      publish the terms of a giveaway
    import    bring in the entries from a CSV file
    freeze    lock the list
    run       make the draw
    recover   go on with a locked draw from its recovery sheet
    outcome   say what became of each place
    cancel    explain that a draw will never be made

draw COMMAND -h says more, with examples.
`

const verifyUsage = `usage: draw verify [flag ...] FOLDER|ADDRESS

Checks every file of a publication and prints one line for each item: ok,
remark or FAULT, with file and line; then who signed, how far the draw has
come, the verdict, and what these files prove and what they don't.

    --signer KEY     the key that you know the host by; any other is a fault
    --freeze HASH    the hash that was read out; any other is a fault
    --receipt FILE   your receipt; may be given more than once
    --entry FILE     your entry's text; may be given more than once
    --now            remark on what is overdue by this computer's clock
    --chain FILE     info (JSON) of a beacon chain other than quicknet
    --json           the same for programs

    $ draw verify trail-boots
    $ draw verify --receipt receipt.txt --entry entry.txt trail-boots
    $ draw verify https://slow-miles.example/g/trail-boots/fair/ && echo holds

Exit status: 0 valid (weak or with remarks too, or cancelled), 1 a fault,
2 not read as a publication, or something could not be checked.
`

const compareUsage = `usage: draw compare [--signer KEY] [--json] A B

Compares two copies of a publication, or two notes such as receipts: the same,
a later stage of the same, different draws, or proof that the host showed two
faces. A and B are folders, addresses or single notes. Two single notes other
than openings need the host's key.

    $ draw compare saved-on-friday https://slow-miles.example/g/trail-boots/fair/
    $ draw compare --signer "$KEY" my-freeze.txt your-freeze.txt

Exit status: 0 no contradiction, 1 proof of two faces, 2 not read.
`

const findUsage = `usage: draw find [flag ...] FOLDER|ADDRESS TICKET

Checks the publication and says where a ticket stands: in which list, its
number and rank in the order of the draw, its place, and the line to paste into
any SHA-256 page to get the same number. Capitals, hyphens and spaces in TICKET
don't matter.

    --signer KEY, --freeze HASH, --chain FILE, --json   as in draw verify

    $ draw find trail-boots K7QF-2M9X-4RTB-W8ZC

Exit status: that of draw verify.
`

const sealUsage = `usage: draw seal --draw ID --signer NAME [--role ROLE] [--out FILE]

Makes a secret, writes it where only you can read it, and prints the line that
locks it: the host puts that line into the posted terms. NAME is the host name
under which the giveaway is served. ROLE is host unless you are somebody else.

A second holder runs this on a machine of their own, sends the host the printed
line only, and shows FILE in public after the list is locked and before the
draw.

    $ draw seal --draw trail-boots --signer slow-miles.example --role maya
    seal maya 3b9c…

Writes ID.seal.ROLE.txt unless --out names another file.
`

const openUsage = `usage: draw open FOLDER --terms FILE --signer NAME [--key FILE] [--seal "ROLE HASH" ...]
       draw open FOLDER --terms FILE --revise

Publishes the terms of a giveaway: makes FOLDER with opening.txt and rules.txt,
and FOLDER.private with a signing key and the host's secret, unless they are
there. Put FOLDER where the public can read it; keep FOLDER.private to yourself.

    --terms FILE     the terms, JSON; - is standard input
    --signer NAME    the host name under which the giveaway is served
    --key FILE       a signing key that you have from an earlier giveaway
    --seal LINE      what a second holder's draw seal printed
    --revise         publish the same terms with a later closes or event, other
                     rules or paragraphs; the terms before stay beside them

    $ draw open trail-boots --terms terms.json --signer slow-miles.example
    $ draw open trail-boots --terms terms.json --signer slow-miles.example \
          --seal "maya 3b9c…"
    $ draw open trail-boots --terms later.json --revise

Says what should make you stop and look, as "caution:"; it stops nothing. Rules
are written from the terms unless "rules" holds a text of your own.

Terms, in short (times also take "utc"):

    {"draw": "trail-boots", "channel": "Slow Miles", "title": "Win trail boots",
     "prize": "A pair of hiking boots", "sponsor": "Larkspur Trail Supply",
     "opens":  {"local": "2026-12-01T09:00", "zone": "America/New_York"},
     "closes": {"local": "2026-12-11T18:00", "zone": "America/New_York"},
     "event":  {"local": "2026-12-11T20:30", "zone": "America/New_York"},
     "winners": 1, "alternates": 5,
     "region": {"live": ["US", "CA"], "alaska_hawaii": true, "territories": true, "military": true},
     "min_age": 18, "sponsor_address": "12 Mill Lane, Anytown, larkspur.example",
     "worth": {"cents": 18900, "currency": "USD"}, "disclosure": "The shop gave us these boots.",
     "steps": "Follow Slow Miles.", "step_kinds": ["follow"], "keep_days": 90,
     "barred": ["staff of Larkspur Trail Supply"], "barred_tick": true,
     "paragraphs": "A skill question comes with the letter."}

"step_kinds" also takes share, review, refer, pay, other; "filed" lists the US
states where the promotion was filed (NY, FL, RI); "seconds" names second
holders, each {"role": "maya", "who": "Maya Lind", "hash": "3b9c…"}.
`

const importUsage = `usage: draw import FOLDER [FILE] [flag ...]

Reads entries from a CSV file of any form, once entries have closed. Every row
that can be read gets a ticket, and a reason if it can't be in the draw; a row
without a readable e-mail address gets none. Receipts and entry texts for the
entrants are put into FOLDER.private/import. Prints the sum and, by row number
as a spreadsheet shows it, every row that is not in the list.

    --map FIELD=COLUMN,…   which column holds which field; may be repeated.
                           Fields: email time zone size system width live state
                           ship ship_state friend name age rules step
                           answers.KEY. A column named like a field needs none.
    --zone ZONE            of times that bear none, such as America/New_York
    --fill FIELD=VALUE     for a field that no column holds; may be repeated
    --at TIME              for a file without times, such as 2026-12-01T12:00:00Z
    --comma CHARACTER      what parts the cells, if not a comma; tab for a tab
    --dry-run              print what would come of it and write nothing
    --force                put an earlier import aside and give all tickets anew

    $ draw import trail-boots entries.csv --dry-run \
          --map 'time=Timestamp,email=Email Address,live=Country,size=Shoe size' \
          --zone America/New_York
    read 5000 = roll 4210 + excluded 655 + unreadable 135
    row 17 excluded duplicate: the same address as in row 3

FILE is standard input where it is - or left out.
`

const freezeUsage = `usage: draw freeze FOLDER [--wait] [--chain FILE]

Locks the list: writes roll.txt, excluded.txt and, last, freeze.txt, and prints
the hash to read out. Between closes and event, once for ever.

    --wait    wait until entries close

    $ draw freeze trail-boots
    freeze 8c1d…
`

const runUsage = `usage: draw run FOLDER [flag ...]

Makes the draw: opens the secrets, gets the public number of the round that the
freeze names, writes record.txt, and prints the places. Not before the event and
the round's time, once for ever.

    --wait             wait for that time
    --secret FILE      a second holder's secret; may be repeated
    --withheld ROLE    that secret did not arrive; the draw is then weak
    --beacon VALUE     the public number, pasted: a relay's JSON answer or the
                       signature's 96 hex digits; - is standard input
    --relay ADDRESS    ask this relay and not the usual ones; may be repeated
    --chain FILE       info (JSON) of a beacon chain other than quicknet

    $ draw run trail-boots --wait --secret trail-boots.seal.maya.txt
    $ draw run trail-boots --beacon - < round.json

Relays get 3 seconds each, 15 in all. What comes from them or is pasted is
verified before it is used.
`

const recoverUsage = `usage: draw recover [ADDRESS] FOLDER SHEET

Makes ready to finish a draw on this computer that was locked on another one,
from its recovery sheet and its publication alone: puts the secret number and
the signing key into FOLDER.private. With ADDRESS it first fetches the
publication into FOLDER; without, FOLDER holds it already.

SHEET is the sheet's text file, or - for one that is typed from paper: the block
that begins with evenhand/seal/v1 and the line that begins with PRIVATE+KEY+,
end with Ctrl-D. Line ends and blanks within them don't matter.

    $ draw recover https://slow-miles.example/g/trail-boots/fair/ trail-boots sheet.txt
    $ draw run trail-boots --wait
    $ draw verify trail-boots

Whatever is wrong on the sheet is found before anything of it is written.
`

const outcomeUsage = `usage: draw outcome FOLDER pass PLACE REASON [--anyway]
       draw outcome FOLDER confirm PLACE

Adds one line to outcome.txt; the outcome before stays beside it. REASON is
no-reply, declined, ineligible or withdrawn. A place is passed or confirmed only
once it has its turn. What was passed stays passed, so what a check would remark
on, such as no-reply within 24 hours, is published only with --anyway.

    $ draw outcome trail-boots pass 1 no-reply
    $ draw outcome trail-boots confirm 2
`

const cancelUsage = `usage: draw cancel FOLDER REASON [--successor ID]

Explains that this draw will never be made; only while there is no record.
REASON is a short code such as secret-lost, prize-withdrawn or postponed. A draw
that replaces it takes a new id and new seals.

    $ draw cancel trail-boots postponed --successor trail-boots-2
`
