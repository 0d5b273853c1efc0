// A tap on a mark of a drawing presses the button that stands for it on the page; without a script the mark leads there.
for (const mark of document.querySelectorAll("figure svg a")) {
  const href = mark.getAttribute("href") || mark.getAttribute("xlink:href") || "";
  const button = href.startsWith("#") && document.getElementById(href.slice(1))?.querySelector("button");
  if (!button) continue;
  mark.addEventListener("click", (event) => {
    event.preventDefault();
    button.form.requestSubmit(button);
  });
}
