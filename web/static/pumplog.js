// @ts-check
// Looks at a pump's log as soon as it is chosen: only its first part is sent, and what the columns mean is shown over
// the file. Without this script the button "Look at the file first" does the same, and the file is chosen twice.

const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form[data-pumplog]"));
const file = /** @type {HTMLInputElement | null} */ (document.getElementById("f-file"));
const said = document.getElementById("pumplog-said");
const mapping = document.getElementById("mapping");
const headBytes = 512 * 1024;

/** Sends the fields and the first part of the file, and shows the part of the answer that tells of the columns. */
async function look() {
  const chosen = file?.files?.[0];
  if (!form || !chosen || !said || !mapping) return;
  said.textContent = "Looking at the file…";
  const data = new FormData();
  for (const name of ["-key", "pump", "ahead", "before", "before-at", "note"]) {
    const field = /** @type {HTMLInputElement | null} */ (form.elements.namedItem(name));
    data.append(name, field ? field.value : "");
  }
  data.append("file", chosen.slice(0, headBytes), chosen.name);
  try {
    const answer = await fetch(form.dataset.pumplog ?? "", { method: "POST", body: data });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const part = page.getElementById("mapping");
    if (!answer.ok || !part) throw new Error(String(answer.status));
    mapping.replaceChildren(...part.childNodes);
    const open = mapping.querySelectorAll("li").length;
    said.textContent = open > 0 ? "Some things are to be answered above before the file can be imported." : "What the columns mean is shown above. Correct it where it is wrong, then import.";
  } catch {
    said.textContent = "The file could not be looked at. Try once more, or import it: nothing is written when it cannot be read.";
  }
}

file?.addEventListener("change", look);
