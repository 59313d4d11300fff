// Everything works without this; it only saves steps.
"use strict";

// Find as you type.
for (const box of document.querySelectorAll("[data-find]")) {
  const place = document.getElementById(box.dataset.find);
  let waiting = 0, asked = 0;
  const show = (matches, words) => {
    const list = document.createElement("ol");
    for (const m of matches) {
      const item = document.createElement("li"), link = document.createElement("a");
      const name = document.createElement("b");
      link.href = "/material/" + encodeURIComponent(m.ingredient);
      name.textContent = m.inci;
      link.append(name);
      const grade = m.ingredient.split("--")[1];
      const other = m.matched !== m.inci && m.matched !== m.ingredient ? m.matched
        : grade ? grade.replaceAll("-", " ") : "";
      if (other) {
        const also = document.createElement("span");
        also.textContent = other;
        link.append(" ", also);
      }
      item.append(link);
      list.append(item);
    }
    if (!matches.length) {
      const none = document.createElement("p");
      none.textContent = "Nothing is called “" + words + "”. Try a part of the name.";
      place.replaceChildren(none);
    } else {
      place.replaceChildren(list);
    }
  };
  box.addEventListener("input", () => {
    clearTimeout(waiting);
    const words = box.value.trim(), mine = ++asked;
    if (words.length < 2) { place.replaceChildren(); return; }
    waiting = setTimeout(async () => {
      try {
        const answer = await fetch("/find.json?limit=8&q=" + encodeURIComponent(words));
        if (answer.ok && mine === asked) show((await answer.json()).matches, words);
      } catch { /* Enter still asks the server. */ }
    }, 120);
  });
  box.addEventListener("keydown", (event) => {
    const first = place.querySelector("a");
    if (event.key === "ArrowDown" && first) { first.focus(); event.preventDefault(); }
  });
  place.addEventListener("keydown", (event) => {
    const all = [...place.querySelectorAll("a")], at = all.indexOf(document.activeElement);
    if (at < 0 || (event.key !== "ArrowDown" && event.key !== "ArrowUp")) return;
    (all[at + (event.key === "ArrowDown" ? 1 : -1)] || box).focus();
    event.preventDefault();
  });
}

// Tables that can be put in another order.
for (const table of document.querySelectorAll("table.sortable")) {
  const body = table.tBodies[0];
  [...table.tHead.rows[0].cells].forEach((head, column) => {
    if (!head.textContent.trim() || head.querySelector(".unseen")) return;
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const key = (row) => {
        const cell = row.cells[column];
        if (!cell.classList.contains("n")) return cell.textContent.trim().toLowerCase();
        return cell.dataset.v ? Number(cell.dataset.v) : null;
      };
      const rows = [...body.rows].map((row) => [key(row), row]);
      rows.sort(([a], [b]) => {
        if (a === null || b === null) return (a === null) - (b === null);
        const order = typeof a === "number" ? a - b : a.localeCompare(b);
        return down ? -order : order;
      });
      body.append(...rows.map(([, row]) => row));
    });
  });
}

// The total and the line that fills up, while amounts are being typed.
for (const form of document.querySelectorAll("[data-sheet]")) {
  const total = form.querySelector("[data-total]"), note = form.querySelector("[data-total-note]");
  const filled = form.querySelector("[data-qs]");
  const boxes = [...form.querySelectorAll("[data-amount]")];
  form.addEventListener("input", (event) => {
    if (!event.target.matches("input")) return;
    let sum = 0, fills = 0, unread = 0;
    for (const box of boxes) {
      const text = box.value.trim();
      if (!text) continue;
      if (/^(q\.?\s*s\.?|ad|to 100)/i.test(text)) { fills++; continue; }
      const number = Number(text.replace("%", "").replace(",", "."));
      if (Number.isFinite(number)) sum += number; else unread++;
    }
    const short = (x) => String(Math.round(x * 1e4) / 1e4);
    if (filled && fills === 1) filled.textContent = short(100 - sum);
    total.textContent = short(fills ? 100 : sum);
    note.textContent = unread ? "an amount cannot be read"
      : fills > 1 ? "only one line can be q.s."
      : fills && sum > 100 ? "nothing is left for the q.s. line"
      : "changed; Update works it out again";
  });
}

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
