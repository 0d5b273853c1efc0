// A tap on a cross of the plan puts its sounding back: it presses the button that stands for it in the list.
for (const cross of document.querySelectorAll('a[href^="#left-out-"]')) {
  cross.addEventListener("click", (event) => {
    const button = document.getElementById(cross.getAttribute("href").slice(1))?.querySelector("button");
    if (!button) return;
    event.preventDefault();
    button.form.requestSubmit(button);
  });
}
