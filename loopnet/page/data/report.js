"use strict";
// Sorting of tables by their headings; the page is whole without it.
(() => {
  const told = document.getElementById("told");

  function value(row, place) {
    const cell = row.cells[place];
    return "by" in cell.dataset ? Number(cell.dataset.by) : cell.textContent.trim().toLowerCase();
  }

  function compare(a, b) {
    if (typeof a === "number" && typeof b === "number") return a - b;
    if (typeof a === typeof b) return a.localeCompare(b, "en", { numeric: true });
    return 0;
  }

  for (const table of document.querySelectorAll("table.sortable")) {
    const heads = [...table.tHead.rows[0].cells];
    const body = table.tBodies[0];
    heads.forEach((head, place) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      head.setAttribute("aria-sort", "none");
      button.addEventListener("click", () => {
        const up = head.getAttribute("aria-sort") !== "ascending";
        for (const other of heads) other.setAttribute("aria-sort", "none");
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        const numeric = head.classList.contains("n");
        const rows = [...body.rows];
        const empty = (row) => numeric && typeof value(row, place) !== "number";  // last in both orders
        const full = rows.filter((row) => !empty(row));
        full.sort((a, b) => (up ? 1 : -1) * compare(value(a, place), value(b, place)));
        body.append(...full, ...rows.filter(empty));
        told.textContent = `Sorted by ${head.innerText.trim().replace(/\s+/g, " ")}, ${up ? "ascending" : "descending"}.`;
      });
    });
  }

  // What is folded stays off the paper: one button opens all, for those who want it there.
  const folds = [...document.querySelectorAll("details")];
  const place = document.getElementById("unfold");
  if (folds.length) {
    const button = document.createElement("button");
    const name = () => {
      const open = folds.every((fold) => fold.open);
      button.textContent = open ? "Fold all tables" : "Unfold all tables, to read or to print them";
      return open;
    };
    button.type = "button";
    button.addEventListener("click", () => {
      const open = !name();
      for (const fold of folds) fold.open = open;
      name();
    });
    for (const fold of folds) fold.addEventListener("toggle", name);
    name();
    place.append(button);
    place.hidden = false;
  }
})();
