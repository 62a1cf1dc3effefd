// Package e2e drives the workshop's page in a real browser, headless Chromium,
// as a person would: by keyboard, on a phone, with recordings dropped and acts
// undone; and holds every page to the accessibility rules of axe-core (WCAG 2.2
// AA). It holds tests only; without Chromium they are skipped, but not in CI.
//
// testdata/axe.min.js is axe-core 4.14.1, Mozilla Public License 2.0, unaltered.
package e2e
