"use strict";

/* Draws the description of the API. Nothing is sent from here but what somebody tries out, with a key of its own. */

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
