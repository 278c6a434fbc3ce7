// Package road asks a road server of the agency's own how long ways take: OSRM's table service or Valhalla's
// sources_to_targets, as their public documentation describes them (project-osrm.org/docs, valhalla.github.io; from
// memory, field names looked up in the types of @routingjs/osrm 0.1.0 and @routingjs/valhalla 0.3.0).
//
// It goes to the one address that whoever runs the program gave, follows no redirect, uses no proxy, and sends nothing but
// coordinates. Without that address no request is ever made. Whatever goes wrong becomes one sentence, and the plan goes on
// without it.
package road
