// One chart alone on a sheet of paper. The browser's own print window saves it as PDF, with lines and
// letters that stay sharp at every size; nothing is sent anywhere.

const ALONE = "chart-alone";

/** Takes the sheet away again, and gives the page its own name back. */
function away(sheet, title) {
  document.documentElement.classList.remove(ALONE);
  document.title = title;
  sheet.remove();
}

/**
 * Prints a drawing with its text and its address.
 * `drawn` is an SVG as a data address; the page bears `name` meanwhile, which browsers offer as file name.
 */
export async function printAlone({ drawn, name, text, address }) {
  document.querySelector(".chart-sheet")?.remove();
  const sheet = document.createElement("section");
  sheet.className = "chart-sheet";
  const picture = document.createElement("img");
  picture.alt = text;
  picture.src = drawn;
  const words = document.createElement("p");
  words.textContent = text;
  const where = document.createElement("p");
  where.textContent = address;
  sheet.append(picture, words, where);
  const title = document.title;
  document.body.append(sheet);
  await picture.decode();
  document.documentElement.classList.add(ALONE);
  document.title = name;
  window.addEventListener("afterprint", () => away(sheet, title), { once: true });
  window.print();
}
