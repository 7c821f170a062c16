// A page of work that goes on looks again until it is done. Without script the
// server's Refresh header does so; a Chromium driven by a test did not heed it.
setInterval(async () => {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return;
  if (!answer.headers.has("Refresh")) return location.reload();
  const said = document.getElementById("how-far"); // how far it has come
  if (said) said.textContent = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("how-far")?.textContent ?? said.textContent;
}, 2000);
