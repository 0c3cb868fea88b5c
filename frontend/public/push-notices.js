// Loaded into the service worker: shows what the server pushes of an order, and opens the order when it is tapped.

self.addEventListener("push", (event) => {
  let told = {};
  try {
    told = event.data ? event.data.json() : {};
  } catch {
    // Not ours, or cut short: something is said all the same, because a push must show something.
  }
  event.waitUntil(
    self.registration.showNotification(told.title || "An order has changed", {
      body: told.words || "",
      tag: told.order || "order",
      renotify: true,
      icon: "/icon-192.png",
      data: { address: typeof told.address === "string" && told.address.startsWith("#/") ? told.address : "#/shop" },
    }),
  );
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const address = new URL(`/${event.notification.data.address}`, self.location.origin).href;
  const open = async () => {
    const pages = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
    for (const page of pages) {
      try {
        await page.focus();
        await page.navigate(address);
        return;
      } catch {
        // A page that this worker does not control cannot be led anywhere: a new one is opened.
      }
    }
    await self.clients.openWindow(address);
  };
  event.waitUntil(open());
});
