"use strict";

/* Draws the description of the API. Nothing is sent from here but what somebody tries out, with a key of its own. */

/* The description's own sheet is dark where the page says so; it follows what the screen is set to. */
const dark = window.matchMedia("(prefers-color-scheme: dark)");
const follow = () => document.documentElement.classList.toggle("dark-mode", dark.matches);
follow();
dark.addEventListener("change", follow);

const place = document.getElementById("api");

window.ui = SwaggerUIBundle({
  url: place.dataset.schema,
  domNode: place,
  deepLinking: false,
  validatorUrl: null,
  displayRequestDuration: false,
  requestInterceptor: (request) => {
    const token = document.cookie.match(/(?:^|; )(?:demo_)?csrftoken=([^;]+)/);
    if (token && request.method !== "GET") request.headers["X-CSRFToken"] = token[1];
    return request;
  },
});
