"""Plans of work: back to the road, and visits to come.

`terms` is what a plan is asked for, `needs` what the car asks for, `offers` what parts cost;
`building` makes a problem of them for the planner, `outcome` rows and figures of its answer.
`stored` holds the verbs that write plans; `job_sheet`, `gantt` and `working_days` are what is
printed, drawn and put into a calendar. The search itself is in `maintenance.planning`.
"""
