// Fills the number in from the link or the kept file; without this it is
// pasted. What stands after # in an address is not sent to any server.
const field = document.querySelector("#f-secret"), said = document.querySelector("#from-link");
const tell = (text) => { said.textContent = text; said.hidden = false; };

const fromLink = /^#([0-9a-f]{64})$/i.exec(location.hash);
if (fromLink) {
  if (field.value === "") {
    field.value = fromLink[1];
    tell("It is filled in from your link.");
  }
  history.replaceState(null, "", location.pathname); // out of sight, for whoever shares their screen
}

document.querySelector("#kept-file").hidden = false;
document.querySelector("#kept").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  if (!file) return;
  if (file.size > 4096) return tell("This file is too long to be the one that you kept.");
  field.value = await file.text();
  tell("It is filled in from the file.");
});
