// Tells where something that was sent did not reach the site: htmx itself would say nothing, and it would be lost.
"use strict";

function tell(form, words) {
  const place = form || document.getElementById("bench");
  let said = place.querySelector(":scope > .not-sent");
  if (!said) {
    said = document.createElement("div");
    said.className = "said not-sent";
    said.setAttribute("role", "alert");
    said.tabIndex = -1;
    place.prepend(said);
  }
  said.replaceChildren();
  const line = document.createElement("p");
  line.className = "mistake";
  line.textContent = words;
  said.append(line);
  said.focus();
}

function failed(event, words) {
  const form = event.detail.elt.closest("form");
  // The verdict that asks for itself may miss a turn; what a person sent may not.
  if (form) tell(form, words);
}

document.addEventListener("htmx:sendError", (event) =>
  failed(event, "Not kept: the site cannot be reached. What you entered still stands here; send it again."));
document.addEventListener("htmx:timeout", (event) =>
  failed(event, "Perhaps not kept: the site did not answer in time. Load the page again to see."));
document.addEventListener("htmx:responseError", (event) =>
  failed(event, event.detail.xhr.status === 403
    ? "Not kept: you are not allowed to, or no longer logged in. Load the page again."
    : "Not kept: something in Setwright went wrong. What you entered still stands here; send it again, or load the page again."));
