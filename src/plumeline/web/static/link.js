// A customer link's secret stands behind the #, which no browser sends to a server: move it into the form and send that.
const code = location.hash.slice(1);
if (code) {
  history.replaceState(null, "", location.pathname);
  document.getElementById("code").value = code;
  document.getElementById("link-form").requestSubmit();
}
