package web

import "strings"

// Commands are what finishes a locked draw on another computer, a line each.
func (s sheet) Commands() []string {
	return []string{
		"draw recover " + s.Fair + " " + s.ID + " " + s.File(),
		"draw run " + s.ID + " --wait",
		"draw verify " + s.ID,
	}
}

// File is the sheet's name as a text file.
func (s sheet) File() string { return s.ID + "-recovery-sheet.txt" }

// text is the sheet as a file. “draw recover” reads it whole; it looks for the
// two blocks and passes over the rest.
func (s sheet) text() string {
	var b strings.Builder
	line := func(parts ...string) { b.WriteString(strings.Join(parts, "") + "\n") }
	line("RECOVERY SHEET")
	line(s.Title)
	line(s.ID, ", ", s.Channel)
	line(s.Written.Before, " ", s.Written.Words)
	line()
	for _, p := range sheetWords {
		line(p.Name)
		line(p.Text)
		line()
	}
	line("---- the secret number, as its file has it ----")
	b.WriteString(s.Secret)
	line("---- the key that everything is signed with ----")
	line(s.Key)
	line("---- end ----")
	line()
	line("To finish a locked draw on another computer, with the program draw and this file:")
	line()
	for _, c := range s.Commands() {
		line("    ", c)
	}
	line()
	line("The first line fetches what is published. Where the site no longer answers, put the")
	line("published files that anybody has saved into a folder named ", s.ID, ", and write instead:")
	line()
	line("    draw recover ", s.ID, " ", s.File())
	for _, o := range s.Others {
		line()
		line(o.Who, " has a secret number too. Add to the second line what arrived: --secret FILE;")
		line("or, if it did not arrive: --withheld ", o.Role)
	}
	line()
	line("Then put the folder ", s.ID, " where everybody can read it.")
	return b.String()
}

// sheetWords say what the sheet is for; page and file share them.
var sheetWords = []fact{
	{"What it is for", "The secret number was locked in when the terms were posted, and is opened at the draw. The key signs everything about the giveaway. If this computer breaks after the list is locked, the draw can be finished with these two on another one. Without them nobody can finish it."},
	{"Who must not see it", "Everybody but you. Whoever knows the secret number before the draw, and the list, knows more than the viewers do. Whoever has the key can sign in your name, for every giveaway of this site."},
	{"Where to keep it", "On paper in a drawer, or in a password manager. Not in a mail, a chat or a shared folder."},
}

// Words is sheetWords, for the page.
func (s sheet) Words() []fact { return sheetWords }
