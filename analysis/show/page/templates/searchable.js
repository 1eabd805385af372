// A search box and sortable heads for every table marked searchable; without this the table stands as it is.
(() => {
  const text = (row, place) => row.cells[place].textContent.trim();
  const number = (value) => (/^[-−]?[\d,]*\.?\d+$/.test(value) ? Number(value.replace("−", "-").replaceAll(",", "")) : NaN);
  const before = (a, b) => {
    if (a === "–" || b === "–") return (a === "–") - (b === "–"); // unknown stands last
    const difference = number(a) - number(b);
    return Number.isNaN(difference) ? a.localeCompare(b, "en") : difference;
  };

  function sortable(head, place, table) {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    button.style.cssText = "all: unset; cursor: pointer; text-decoration: underline dotted";
    button.addEventListener("focus", () => { button.style.outline = button.matches(":focus-visible") ? "2px solid" : ""; });
    button.addEventListener("blur", () => { button.style.outline = ""; });
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const rows = [...table.tBodies[0].rows].sort((a, b) => before(text(a, place), text(b, place)));
      table.tBodies[0].append(...(down ? rows.reverse() : rows));
    });
    head.append(button);
  }

  function searchable(table) {
    table.dataset.ready = "";
    [...table.tHead.rows[0].cells].forEach((head, place) => sortable(head, place, table));
    const tools = document.createElement("p");
    const label = document.createElement("label");
    const box = document.createElement("input");
    const found = document.createElement("span");
    box.type = "search";
    found.setAttribute("role", "status");
    label.append("Search these rows ", box);
    tools.className = "tools";
    tools.append(label, " ", found);
    box.addEventListener("input", () => {
      const wanted = box.value.trim().toLowerCase().split(/\s+/);
      const rows = [...table.tBodies[0].rows];
      for (const row of rows) row.hidden = !wanted.every((word) => row.textContent.toLowerCase().includes(word));
      found.textContent = `${rows.filter((row) => !row.hidden).length} of ${rows.length} rows`;
    });
    table.parentElement.before(tools);
  }

  document.querySelectorAll("table.searchable:not([data-ready])").forEach(searchable);
})();
