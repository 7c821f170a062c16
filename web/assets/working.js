// A page of work that goes on looks again until it is done. Without script the
// server's Refresh header does so; a Chromium driven by a test did not heed it.
setInterval(async () => {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (answer?.ok && !answer.headers.has("Refresh")) location.reload();
}, 2000);
