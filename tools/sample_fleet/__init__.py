"""The sample fleet: six invented standby sets of an invented valley, simulated and written as logs.

Everything here is made up: the valley, the sites, the sets and every figure in the logs. The physics is
simple and its figures are ordinary ones from common practice, without a source. It is a demonstration and
proves no check's value.

`specs` says what happens to each set; `weather`, `battery`, `engine` and `tank` are the physics; `story`
walks from event to event and keeps the state; `readings` turns the story into signals at the instants of
the logger; `layouts` writes them in each logger's own way; `build` puts files and truth on disk.
"""
