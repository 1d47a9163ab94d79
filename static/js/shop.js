"use strict";

/* Small help at the bench. Every page works without it. */

const typable = "input:not([type=hidden], [type=checkbox], [type=radio], [type=submit], [type=file]), select, textarea";
const busyWith = new WeakSet();

/* What was typed and not sent yet is not lost by a slip of the hand. */
const typedIn = new Set();
const losesNothing = (form) => !form || form.method === "get" || form.hasAttribute("data-nothing-to-lose");

document.addEventListener("input", ({ target }) => {
  if (!losesNothing(target.form)) typedIn.add(target.form);
});

window.addEventListener("beforeunload", (event) => {
  if ([...typedIn].some((form) => form.isConnected)) event.preventDefault();
});

/* A form is sent once. Its button stays dead until the answer, or until the browser brings the old page back. */
const buttonsOf = (form) => form.querySelectorAll("button:not([type=button])");

function hold(form) {
  busyWith.add(form);
  for (const button of buttonsOf(form)) {
    if (button.disabled) continue;
    button.disabled = true;
    button.setAttribute("aria-busy", "true");
  }
  const said = document.createElement("p");
  said.className = "working";
  said.setAttribute("role", "status");
  form.append(said);
  /* what is done at once needs no word; the element stands before its text, so that it is read out */
  setTimeout(() => { said.textContent = form.dataset.working || "This takes a moment. The page goes on by itself."; }, 800);
}

function release(form) {
  busyWith.delete(form);
  for (const button of form.querySelectorAll("button[aria-busy]")) {
    button.disabled = false;
    button.removeAttribute("aria-busy");
  }
  for (const said of form.querySelectorAll(".working")) said.remove();
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method === "get") return;
  if (busyWith.has(form)) {
    event.preventDefault();
    event.stopPropagation();
    return;
  }
  typedIn.delete(form);
  /* after the browser has read the form, so that the pressed button's own value is sent too */
  setTimeout(hold, 0, form);
}, true);

window.addEventListener("pageshow", ({ persisted }) => {
  if (persisted) for (const form of document.forms) release(form);
});

document.addEventListener("htmx:afterRequest", ({ target }) => {
  const form = target.closest("form");
  if (form) release(form);
});

/* Enter goes on to the next empty field of a bench form, and sends it from the last. */
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.key !== "Enter" || event.isComposing || !field.matches?.("form[data-enter-goes-on] input")) return;
  const shown = (one) => !one.disabled && one.offsetParent && !one.closest("details:not([open])");
  const fields = [...field.form.querySelectorAll(typable)].filter(shown);
  const next = fields.slice(fields.indexOf(field) + 1).find((one) => !one.value);
  if (!next) return;
  event.preventDefault();
  next.focus();
});

/* A scanner types without looking: what it types goes to the waiting field, wherever the last touch was, and takes the
   place of what stood there. */
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.key.length !== 1 || event.key === " ") return;
  if (document.activeElement?.matches(typable)) return;
  const waiting = document.querySelector("[data-scan]:not(:disabled)");
  waiting?.focus();
  waiting?.select();
});

/* After a refusal the hand is led to the first field of the page that needs it, a tick as well; after a swap, to the field that waits. */
function lead(root, orWaiting = true) {
  const wrong = root.querySelector(":is(input:not([type=hidden]), select, textarea)[aria-invalid=true]") ?? root.querySelector("[data-focus-first]");
  const waiting = wrong ?? (orWaiting ? root.querySelector("[autofocus]") : null);
  if (!waiting) return;
  waiting.focus();
  if (wrong && waiting.matches("input")) waiting.select();
}

document.addEventListener("DOMContentLoaded", () => lead(document, false));
document.addEventListener("htmx:afterSettle", ({ target }) => lead(target));
