// Shows the buttons that print the page: without script they could do nothing, so they are hidden.
for (const button of document.querySelectorAll("button[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
