// Long lists: the first rows in sight, the rest on demand; on paper as many as fit a sheet, and where the rest is.
"use strict";

(() => {
  const ON_A_SCREEN = 10;
  const ON_A_PHONE = 4;
  const ON_PAPER = 20;
  const BRIEFLY_ON_PAPER = 10; // a list that stands under its own chart
  const SPARE = 2; // so many more are shown rather than folded
  const COLUMNS = 4; // a narrower table is short to read, however many rows it has
  const phone = matchMedia("(max-width: 40rem)");
  const listed = (region) => region.querySelector("tbody").rows.length > ON_A_PHONE + SPARE && region.querySelectorAll("thead th").length >= COLUMNS;
  const regions = [...document.querySelectorAll(".scroll:not(.flat)")].filter(listed);

  const fold = (region) => {
    const rows = [...region.querySelector("tbody").rows].filter((row) => !row.hidden);
    const sheet = region.closest("section")?.querySelector(":scope > .charts") ? BRIEFLY_ON_PAPER : ON_PAPER;
    const most = phone.matches ? ON_A_PHONE : ON_A_SCREEN;
    const first = rows.length > most + SPARE ? most : rows.length;
    rows.forEach((row, at) => {
      row.classList.toggle("folded", at >= first);
      row.classList.toggle("off-paper", at >= sheet);
    });
    const button = region.nextElementSibling;
    const open = region.classList.contains("unfolded");
    button.hidden = rows.length <= first;
    button.textContent = open ? `Show the first ${first} only` : `Show all ${rows.length}`;
    button.setAttribute("aria-expanded", String(open));
    const note = button.nextElementSibling;
    note.classList.toggle("needed", rows.length > sheet);
    note.textContent = `On paper: ${sheet} of the ${rows.length} rows of this list; the page on the screen has them all.`;
  };
  const unfold = (region, open) => {
    region.classList.toggle("unfolded", open);
    fold(region);
  };

  for (const region of regions) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "act more";
    button.addEventListener("click", () => unfold(region, !region.classList.contains("unfolded")));
    const note = document.createElement("p");
    note.className = "note on-paper";
    region.classList.add("foldable");
    region.after(button, note);
    fold(region);
  }
  // A choice hides rows, a heading sorts them: what is in sight is counted anew. A link into a list opens it.
  document.addEventListener("chosen", () => regions.forEach(fold));
  document.addEventListener("click", (event) => {
    const region = event.target.closest("button.sort")?.closest(".foldable");
    if (region) fold(region);
  });
  const open = (place) => {
    const row = place?.closest("tr.folded");
    if (row) unfold(row.closest(".foldable"), true);
  };
  document.addEventListener("led-to", (event) => open(event.target));
  phone.addEventListener("change", () => regions.forEach(fold));
  const asked = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  open(asked);
  asked?.scrollIntoView({ block: "center" });
})();
