//! Facts about X-ray lines, each with its source. Imports only `element` and below; knows nothing of maps.
